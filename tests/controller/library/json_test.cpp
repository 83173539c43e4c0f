#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <random>
#include <set>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;

namespace {

/// Keys that the first records do not have.
const std::set<std::string> came_later{
    "rope_grade_mpa",    "breaking_force_factor", "elastic_modulus_mpa", "mass_factor", "end",
    "pin_to_bore_end_mm"};

recipe::JoinedRecipe some_recipe() {
  const Library library = load(SOURCE_DIR "/recipes");
  return join(library, "straight-shank-3-16-7x19").value();
}

}  // namespace

TEST_CASE("A joined recipe comes back from JSON the same to the last bit") {
  const Library library = load(SOURCE_DIR "/recipes");
  for (const auto& [id, recipe] : library.recipes) {
    INFO(id);
    const recipe::JoinedRecipe joined = join(library, id).value();
    const auto back = from_json(to_json(joined));
    REQUIRE(back.ok());
    CHECK(back.value() == joined);
    CHECK(to_json(back.value()) == to_json(joined));
  }
  const recipe::JoinedRecipe empty;
  REQUIRE(from_json(to_json(empty)).ok());
  CHECK(from_json(to_json(empty)).value() == empty);
}

TEST_CASE("Any number in any field survives the round trip") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const auto any = [&] {
    return std::ldexp(std::uniform_real_distribution<>(-1, 1)(random), static_cast<int>(random() % 80) - 40);
  };
  recipe::JoinedRecipe joined = some_recipe();
  for (int i = 0; i < 2000; ++i) {
    joined.terminal.bore_diameter_mm = any();
    joined.terminal.bore_depth_mm = {any(), any()};
    joined.recipe.target_force_kn = any();
    joined.recipe.envelope = {{{any(), {any(), any()}}}, {}};
    joined.recipe.growth_fraction = {any(), any()};
    joined.go_gauge.size_mm = i % 2 == 0 ? std::optional(any()) : std::nullopt;
    joined.recipe.source = std::string("\"quoted\" \\ \xC2\xB5 \n") + std::to_string(i);
    const auto back = from_json(to_json(joined));
    REQUIRE(back.ok());
    CHECK(back.value() == joined);
  }
}

TEST_CASE("A record older than the optional keys still loads, and is written back without them") {
  const Library library = load(SOURCE_DIR "/recipes");
  const recipe::JoinedRecipe joined = join(library, "straight-shank-6-1x19").value();
  REQUIRE(joined.rope.rope_grade_mpa);
  REQUIRE(joined.terminal.pin_to_bore_end_mm);
  nlohmann::json older = nlohmann::json::parse(to_json(joined));
  for (const auto& key : came_later) {
    CHECK(older["rope"].erase(key) + older["terminal"].erase(key) == 1);
  }
  const auto back = from_json(older.dump());
  REQUIRE(back.ok());
  CHECK_FALSE(back.value().rope.rope_grade_mpa);
  CHECK_FALSE(back.value().rope.elastic_modulus_mpa);
  CHECK_FALSE(back.value().terminal.end);
  CHECK_FALSE(back.value().terminal.pin_to_bore_end_mm);
  CHECK(nlohmann::json::parse(to_json(back.value())) == older);
}

TEST_CASE("A proof load and the rule of two come back; a record that knows neither asks for neither") {
  recipe::JoinedRecipe joined = some_recipe();
  const std::string older = to_json(joined);
  CHECK(older.find("proof") == std::string::npos);
  CHECK(older.find("two_person") == std::string::npos);
  CHECK_FALSE(from_json(older).value().recipe.proof);
  CHECK_FALSE(from_json(older).value().recipe.two_person_disposition);
  joined.recipe.proof = recipe::ProofTest{17.08, 180, 0.5};
  joined.recipe.two_person_disposition = true;
  const auto back = from_json(to_json(joined));
  REQUIRE(back.ok());
  CHECK(back.value() == joined);
}

TEST_CASE("JSON that is no joined recipe is refused with the place that shows it") {
  CHECK_FALSE(from_json("").ok());
  CHECK_FALSE(from_json("{").ok());
  CHECK_FALSE(from_json("[]").ok());
  CHECK_FALSE(from_json(std::string(200000, '[')).ok());
  const nlohmann::json sound = nlohmann::json::parse(to_json(some_recipe()));
  // Each member in turn: left out, and of another type.
  std::size_t tried = 0;
  const nlohmann::json flat = sound.flatten();
  for (const auto& [pointer, value] : flat.items()) {
    const nlohmann::json::json_pointer at(pointer);
    INFO(pointer);
    nlohmann::json changed = sound;
    changed[at] = nlohmann::json::object();
    const auto wrong_type = from_json(changed.dump());
    REQUIRE_FALSE(wrong_type.ok());
    CHECK(wrong_type.problem().place == pointer);
    if (changed[at.parent_pointer()].is_object()) {
      changed[at.parent_pointer()].erase(at.back());
      const auto missing = from_json(changed.dump());
      if (came_later.contains(at.back())) {
        CHECK(missing.ok());
        continue;
      }
      REQUIRE_FALSE(missing.ok());
      CHECK_THAT(missing.problem().found, Catch::Contains(at.back()));
    }
    ++tried;
  }
  CHECK(tried > 80);
  nlohmann::json changed = sound;
  changed["recipe"]["colour"] = "red";
  CHECK_FALSE(from_json(changed.dump()).ok());
  changed = sound;
  changed["die_pair"]["tag"] = 65536;
  CHECK(from_json(changed.dump()).problem().place == "/die_pair/tag");
  changed["die_pair"]["tag"] = -1;
  CHECK_FALSE(from_json(changed.dump()).ok());
  changed["die_pair"]["tag"] = 7.5;
  CHECK_FALSE(from_json(changed.dump()).ok());
}
