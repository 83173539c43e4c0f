#include <catch2/catch.hpp>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

TEST_CASE("A folder, a folder inside, and a file are checked against the library around them") {
  const LibraryFolder folder;
  const Checked whole = check_paths({folder.path()});
  CHECK(whole.faults.empty());
  CHECK(whole.unreadable.empty());
  CHECK(whole.files > 80);

  folder.edit("ropes/rope-1-4-7x19.yaml", "construction: 7x19", "construction: 7x9");
  const auto rope = folder.path() / "ropes" / "rope-1-4-7x19.yaml";
  for (const auto& path : {rope, folder.path() / "ropes", folder.path() / "ropes/"}) {
    INFO(path.string());
    const Checked checked = check_paths({path});
    REQUIRE(checked.faults.size() == 1);
    CHECK(line_and_column(checked.faults[0]) == "2:15");
  }
  CHECK(check_paths({rope}).files == 1);
  CHECK(check_paths({folder.path() / "dies"}).faults.empty());
  // The recipes that name it cannot be used now, and say so where they are checked.
  CHECK(check_paths({folder.path() / "recipes"}).faults.size() == 2);
  std::vector<Problem> warnings;
  CHECK(check({folder.path()}, &warnings).size() == 3);
}

TEST_CASE("A file by itself is taken for the kind whose keys it has") {
  const LibraryFolder folder;
  const auto alone = folder.path() / "schema" / "some.yaml";
  for (const Shipped& shipped : all_shipped()) {
    INFO(shipped.file.string());
    std::filesystem::copy_file(shipped.file, alone, std::filesystem::copy_options::overwrite_existing);
    const Checked checked = check_paths({alone});
    for (const Problem& problem : checked.faults) UNSCOPED_INFO(problem.text());
    CHECK(checked.faults.empty());
    CHECK(checked.files == 1);
    CHECK(checked.warnings.size() == (shipped.kind == FileKind::recipe ? 1u : 0u));
  }
}

TEST_CASE("What is not there is unreadable, which is not the same as faulty") {
  const LibraryFolder folder;
  const Checked checked = check_paths(
      {folder.path() / "none.yaml", folder.path() / "ropes" / "none.yaml", "/nowhere/at/all", "/"});
  CHECK(checked.unreadable.size() == 4);
  CHECK(checked.faults.empty());
  CHECK(checked.files == 0);
}
