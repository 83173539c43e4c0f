#include <algorithm>
#include <catch2/catch.hpp>

#include "library/library.hpp"
#include "prediction/recipe_plan.hpp"

using namespace shankwright;
using namespace shankwright::prediction;

namespace {

recipe::JoinedRecipe joined(const std::string& id = "straight-shank-3-16-7x19") {
  static const auto library = library::load(SOURCE_DIR "/recipes");
  return library::join(library, id).value();
}

RecipePlan plan_of(const recipe::JoinedRecipe& of) {
  const auto plan = plan_recipe(of, 2, mechanics::Fineness::coarse);
  if (!plan.ok()) FAIL(plan.problem().text());
  return plan.value();
}

bool warns(const RecipePlan& plan, Caution caution) {
  return std::any_of(plan.warnings.begin(), plan.warnings.end(),
                     [&](const Warning& w) { return w.caution == caution; });
}

}  // namespace

TEST_CASE("A plan holds the weakest and the strongest part on either side of the typical one",
          "[prediction]") {
  const RecipePlan plan = plan_of(joined());
  REQUIRE(plan.passes.size() == 2);
  for (std::size_t p = 0; p < 2; ++p) {
    CHECK(plan.passes_weakest[p].closing_force_n_per_mm < plan.passes[p].closing_force_n_per_mm);
    CHECK(plan.passes[p].closing_force_n_per_mm < plan.passes_strongest[p].closing_force_n_per_mm);
  }
  CHECK(plan.passes[1].growth > plan.passes[0].growth);
  CHECK(plan.needed_kn > plan.needed_typical_kn);
  CHECK(plan.needed_bar == Approx(plan.needed_kn * 1e4 / joined().press.ram_area_mm2));
}

TEST_CASE("Bites cover the swage length, the first the whole die, and lap as the recipe asks",
          "[prediction]") {
  const auto recipe = joined();
  const RecipePlan plan = plan_of(recipe);
  REQUIRE(plan.bites.size() >= 4);
  double covered = 0;
  for (const BiteForecast& bite : plan.bites) {
    CHECK(bite.fresh_mm > 0);
    CHECK(bite.under_die_mm <= recipe.die_pair.length_mm);
    CHECK(bite.typical_kn ==
          Approx(plan.passes[static_cast<std::size_t>(bite.pass - 1)].closing_force_n_per_mm *
                 bite.under_die_mm / 1000));
    if (bite.bite == 1) CHECK(bite.fresh_mm == bite.under_die_mm);
    if (bite.bite > 1) CHECK(bite.under_die_mm - bite.fresh_mm >= recipe.recipe.least_overlap_mm);
    if (bite.pass == 1) covered += bite.fresh_mm;
  }
  CHECK(covered > 0.95 * recipe.terminal.swage_length_mm);
}

TEST_CASE("Every caution is given when its cause is put in, and not before", "[prediction]") {
  const RecipePlan good = plan_of(joined());
  for (const Caution caution : {Caution::die_leaves_shank, Caution::rope_loose_in_bore,
                                Caution::rope_too_thick, Caution::rope_not_gripped, Caution::rope_overfills,
                                Caution::growth_outside, Caution::across_flats_outside,
                                Caution::die_overloaded, Caution::little_margin, Caution::no_bite_plan})
    CHECK_FALSE(warns(good, caution));
  const auto with = [](auto change) {
    recipe::JoinedRecipe changed = joined();
    change(changed);
    return plan_of(changed);
  };
  CHECK(warns(with([](auto& j) { j.die_pair.across_flats_mm = 9.5; }), Caution::die_leaves_shank));
  CHECK(warns(with([](auto& j) { j.rope.diameter_mm = {3.6, 3.7}; }), Caution::rope_loose_in_bore));
  CHECK(warns(with([](auto& j) { j.rope.diameter_mm.most = 5.3; }), Caution::rope_too_thick));
  // Dies that leave the bore too wide for the rope: it is not gripped.
  CHECK(warns(with([](auto& j) {
                j.die_pair.across_flats_mm = 8.9;
                j.rope.diameter_mm = {4.3, 4.4};
              }),
              Caution::rope_not_gripped));
  CHECK(warns(with([](auto& j) { j.rope.metallic_area_factor = 0.72; }), Caution::rope_overfills));
  CHECK(warns(with([](auto& j) { j.recipe.growth_fraction = {0.05, 0.1}; }), Caution::growth_outside));
  CHECK(warns(with([](auto& j) { j.recipe.across_flats_mm = {8.2, 8.3}; }), Caution::across_flats_outside));
  CHECK(warns(with([](auto& j) { j.die_pair.rated_force_kn = 200; }), Caution::die_overloaded));
  CHECK(warns(with([](auto& j) { j.press.capacity_kn = 280; }), Caution::little_margin));
  CHECK(warns(with([](auto& j) { j.press.pressure_max_bar = 130; }), Caution::little_margin));
  CHECK(warns(with([](auto& j) { j.recipe.target_force_kn = 150; }), Caution::target_too_low));
  CHECK(warns(with([](auto& j) { j.recipe.force_limit_kn = 160; }), Caution::limit_too_low));
  CHECK(warns(with([](auto& j) { j.recipe.least_overlap_mm = 40; }), Caution::no_bite_plan));
}

TEST_CASE("Denser rope in the same terminal asks for more force", "[prediction]") {
  recipe::JoinedRecipe dense = joined();
  dense.rope.metallic_area_factor = 0.597;
  CHECK(plan_of(dense).needed_kn > plan_of(joined()).needed_kn);
}

TEST_CASE("Dimensions out of the model's limits are a problem, not a number", "[prediction]") {
  recipe::JoinedRecipe odd = joined();
  odd.die_pair.across_flats_mm = 4;
  CHECK_FALSE(plan_recipe(odd, 1).ok());
}
