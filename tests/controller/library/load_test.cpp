#include <sys/stat.h>

#include <catch2/catch.hpp>

#include "library_folder.hpp"
#include "recipe/bite_plan.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {
const std::string shipped = "recipes/straight-shank-3-16-7x19.r2.yaml";
const std::string newer = "recipes/straight-shank-3-16-7x19.r3.yaml";
const std::string id = "straight-shank-3-16-7x19";

std::string as_revision_3(const std::string& text, const std::string& status) {
  std::string out = text;
  out.replace(out.find("revision: 2"), 11, "revision: 3");
  return out.replace(out.find("status: released"), 16, "status: " + status);
}
}  // namespace

TEST_CASE("The shipped library loads whole, without fault or warning") {
  const Library library = load(SOURCE_DIR "/recipes");
  for (const Problem& problem : library.faults) UNSCOPED_INFO(problem.text());
  for (const Problem& problem : library.warnings) UNSCOPED_INFO(problem.text());
  CHECK(library.faults.empty());
  CHECK(library.warnings.empty());
  CHECK(library.ropes.size() >= 13);
  CHECK(library.recipes.size() >= 15);
  std::set<recipe::Status> seen;
  for (const auto& [name, r] : library.recipes) {
    INFO(name);
    seen.insert(r.status);
    const auto joined = join(library, name);
    REQUIRE(joined.ok());
    CHECK(joined.value().recipe == r);
    CHECK(joined.value().rope.id == r.rope);
    CHECK(joined.value().measuring_gauges.size() == r.measuring_gauges.size());
    // One to three bites a pass, before and after growth.
    for (const double growth : {0.0, 0.7 * r.growth_fraction.most, r.growth_fraction.most}) {
      const auto plan = recipe::bite_plan(joined.value(), growth);
      CHECK((plan.size() >= 1 && plan.size() <= 3));
    }
  }
  CHECK(seen.size() == 3);  // released, draft and withdrawn, for trying each
}

TEST_CASE("A draft does not take the place of the released revision, a released or withdrawn one does") {
  const LibraryFolder folder;
  folder.write(newer, as_revision_3(folder.text(shipped), "draft"));
  CHECK(load(folder.path()).recipes.at(id).revision == 2);
  folder.write(newer, as_revision_3(folder.text(shipped), "released"));
  CHECK(load(folder.path()).recipes.at(id).revision == 3);
  folder.write(newer, as_revision_3(folder.text(shipped), "withdrawn"));
  CHECK(load(folder.path()).recipes.at(id).status == recipe::Status::withdrawn);
}

TEST_CASE("A faulty newer revision takes the recipe out of use, a faulty draft does not") {
  const LibraryFolder folder;
  const std::string broken = as_revision_3(folder.text(shipped), "released");
  folder.write(newer, broken + "extra: 1\n");
  CHECK_FALSE(load(folder.path()).recipes.contains(id));
  folder.write(newer, "id: [\n");
  CHECK_FALSE(load(folder.path()).recipes.contains(id));
  folder.write(newer, as_revision_3(folder.text(shipped), "draft") + "extra: 1\n");
  const Library library = load(folder.path());
  CHECK(library.recipes.at(id).revision == 2);
  CHECK(library.faults.size() == 1);
}

TEST_CASE("A recipe's file says its id and revision") {
  const LibraryFolder folder;
  const std::string text = folder.text(shipped);
  folder.write("recipes/straight-shank-3-16-7x19.yaml", text);
  auto faults = folder.faults_in("recipes/straight-shank-3-16-7x19.yaml");
  REQUIRE(faults.size() == 1);
  CHECK_THAT(faults[0].expected, Catch::Contains("id.rREVISION.yaml"));
  folder.remove("recipes/straight-shank-3-16-7x19.yaml");
  folder.write(newer, text);
  faults = folder.faults_in(newer);
  REQUIRE(faults.size() == 1);
  CHECK(line_and_column(faults[0]) == place_of(text, "2\n", 0));
}

TEST_CASE("An id must be the file's name, and two files cannot have one id") {
  const LibraryFolder folder;
  folder.write("ropes/other-rope.yaml", folder.text("ropes/rope-3-16-7x19.yaml"));
  auto faults = folder.faults_in("ropes/other-rope.yaml");
  for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
  REQUIRE_FALSE(faults.empty());
  CHECK(line_and_column(faults[0]) == "1:5");
  CHECK_THAT(faults[0].expected, Catch::Contains("\"other-rope\", as the file's name says"));
  // Read after the file it copies, the second claim is named as well.
  folder.remove("ropes/other-rope.yaml");
  folder.write("ropes/zz-rope.yaml", folder.text("ropes/rope-3-16-7x19.yaml"));
  faults = folder.faults_in("ropes/zz-rope.yaml");
  REQUIRE(faults.size() == 2);
  CHECK_THAT(faults[1].expected,
             Catch::Contains("it is taken at") && Catch::Contains("rope-3-16-7x19.yaml:1:5"));
}

TEST_CASE("Two die pairs with one tag are both refused: the press could not tell them apart") {
  const LibraryFolder folder;
  std::string text = folder.text("dies/hex-3-16.yaml");
  const std::string tag =
      text.substr(text.find("tag: "), text.find('\n', text.find("tag: ")) - text.find("tag: "));
  std::string other = folder.text("dies/hex-1-8.yaml");
  const std::string other_tag =
      other.substr(other.find("tag: "), other.find('\n', other.find("tag: ")) - other.find("tag: "));
  folder.edit("dies/hex-3-16.yaml", tag, other_tag);
  const Library library = load(folder.path());
  CHECK_FALSE(library.die_pairs.contains("hex-3-16"));
  CHECK_FALSE(library.die_pairs.contains("hex-1-8"));
  const auto faults = folder.faults_in("dies/hex-3-16.yaml");
  REQUIRE(faults.size() == 1);
  CHECK(line_and_column(faults[0]) == "2:6");
}

TEST_CASE("What cannot be read is a fault and never waited for") {
  const LibraryFolder folder;
  const auto pipe = folder.path() / "ropes" / "pipe.yaml";
  REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);
  std::filesystem::create_directory(folder.path() / "ropes" / "folder.yaml");
  folder.write("ropes/large.yaml", std::string(file_bytes_most + 1, '#'));
  const Library library = load(folder.path());
  CHECK(library.faults.size() == 3);
  CHECK(library.recipes.contains(id));

  const Library none = load(folder.path() / "nowhere");
  REQUIRE(none.faults.size() == 1);
  CHECK_THAT(none.faults[0].found, Catch::Contains("no such folder"));
}

TEST_CASE("Joining an unknown recipe names the nearest known one") {
  const Library library = load(SOURCE_DIR "/recipes");
  const auto joined = join(library, "straight-shank-3-16-7x91");
  REQUIRE_FALSE(joined.ok());
  CHECK_THAT(joined.problem().expected, Catch::Contains("straight-shank-3-16-7x19"));
}
