#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>
#include <set>

#include "sample_job.hpp"

using namespace shankwright;
using namespace shankwright::planning;
using namespace shankwright::planning::tests;

namespace {

struct Row {
  const char* story;
  std::function<void(Job&, Parts&)> change;
  std::set<Refusal> refused;
  const char* path;  ///< of the first
};

recipe::JoinedRecipe& swage(Parts& parts) {
  return parts.recipes.at("swage");
}

}  // namespace

TEST_CASE("The sample job is not refused") {
  CHECK(plan_of(sample_job(), sample_parts()).refusals.empty());
}

TEST_CASE("What does not fit is refused before anything is cut, with where and what instead") {
  const std::vector<Row> rows{
      {"no rope by that name",
       [](Job& j, Parts&) { j.assemblies[0].rope = "string"; },
       {Refusal::rope_unknown},
       "assemblies[0].rope"},
      {"no recipe by that name",
       [](Job& j, Parts&) { j.assemblies[0].ends[1].recipe = "none"; },
       {Refusal::recipe_unknown},
       "assemblies[0].ends[1].recipe"},
      {"a draft",
       [](Job&, Parts& p) { swage(p).recipe.status = recipe::Status::draft; },
       {Refusal::recipe_not_released},
       "assemblies[0].ends[0].recipe"},
      {"withdrawn",
       [](Job&, Parts& p) { swage(p).recipe.status = recipe::Status::withdrawn; },
       {Refusal::recipe_not_released},
       "assemblies[0].ends[0].recipe"},
      {"another rope, same construction",
       [](Job& j, Parts& p) {
         p.ropes["strand-2"] = p.ropes.at("strand");
         p.ropes["strand-2"].id = "strand-2";
         j.assemblies[0].rope = "strand-2";
       },
       {Refusal::rope_not_the_recipes},
       "assemblies[0].rope"},
      {"another construction, and too thick for the bore",
       [](Job& j, Parts& p) {
         recipe::Rope rope = p.ropes.at("strand");
         rope.id = "rope-7x19";
         rope.construction = recipe::Construction::rope_7x19;
         rope.diameter_mm.most = 6.46;
         p.ropes["rope-7x19"] = rope;
         j.assemblies[0].rope = "rope-7x19";
       },
       {Refusal::rope_not_the_recipes, Refusal::construction_not_the_recipes,
        Refusal::rope_too_thick_for_bore},
       "assemblies[0].rope"},
      {"another terminal",
       [](Job& j, Parts&) { j.assemblies[0].ends[0].terminal = "eye"; },
       {Refusal::terminal_not_the_recipes},
       "assemblies[0].ends[0].terminal"},
      {"another die",
       [](Job& j, Parts&) { j.assemblies[0].ends[0].die_pair = "round"; },
       {Refusal::die_pair_not_the_recipes},
       "assemblies[0].ends[0].die_pair"},
      {"another press",
       [](Job& j, Parts&) { j.press = "little-press"; },
       {Refusal::press_not_the_recipes},
       "assemblies[0].ends[0].recipe"},
      {"a die wider than the shank",
       [](Job&, Parts& p) { swage(p).die_pair.across_flats_mm = 10.9; },
       {Refusal::die_pair_wider_than_shank},
       "assemblies[0].ends[0].recipe"},
      {"more than the press can",
       [](Job&, Parts& p) { swage(p).press.capacity_kn = 499; },
       {Refusal::force_over_press_capacity},
       "assemblies[0].ends[0].recipe"},
      {"more than the pressure gives",
       [](Job&, Parts& p) { swage(p).press.pressure_max_bar = 238; },
       {Refusal::force_over_press_pressure},
       "assemblies[0].ends[0].recipe"},
      {"more than the die is rated for",
       [](Job&, Parts& p) { swage(p).die_pair.rated_force_kn = 499; },
       {Refusal::force_over_die_rating},
       "assemblies[0].ends[0].recipe"},
      {"bites that cannot cover the shank",
       [](Job&, Parts& p) { swage(p).recipe.position_tolerance_mm = 25; },
       {Refusal::no_bite_plan},
       "assemblies[0].ends[0].recipe"},
      {"no pin distance anywhere",
       [](Job&, Parts& p) { swage(p).terminal.pin_to_bore_end_mm.reset(); },
       {Refusal::pin_distance_missing},
       "assemblies[0].ends[0].recipe"},
      {"a tension above the lesser proof load",
       [](Job& j, Parts&) { j.assemblies[0].tension_kn = 15.01; },
       {Refusal::tension_too_high},
       "assemblies[0].tension"},
      {"nothing to make of one",
       [](Job& j, Parts&) { j.assemblies[0].quantity = 0; },
       {Refusal::nothing_to_make},
       "assemblies[0].quantity"},
      {"nothing to make at all",
       [](Job& j, Parts&) { j.assemblies.clear(); },
       {Refusal::nothing_to_make},
       "assemblies"},
      {"shorter than its ends",
       [](Job& j, Parts&) { j.assemblies[0].pin_to_pin_mm = 216; },
       {Refusal::too_short},
       "assemblies[0].pin_to_pin"},
      {"dies that would reach the other end",
       [](Job& j, Parts&) { j.assemblies[0].pin_to_pin_mm = 218; },
       {Refusal::too_short_for_the_dies},
       "assemblies[0].pin_to_pin"},
  };
  for (const Row& row : rows) {
    INFO(row.story);
    Job job = sample_job();
    Parts parts = sample_parts();
    row.change(job, parts);
    const Plan plan = plan_of(job, parts);
    std::set<Refusal> refused;
    for (const auto& refusal : plan.refusals) {
      UNSCOPED_INFO(refusal.path << ": " << name_of(refusal.code) << ": " << refusal.found);
      refused.insert(refusal.code);
      CHECK_FALSE(refusal.found.empty());
      CHECK_FALSE(refusal.expected.empty());
      CHECK_FALSE(name_of(refusal.code).empty());
    }
    CHECK(refused == row.refused);
    REQUIRE_FALSE(plan.refusals.empty());
    CHECK(plan.refusals.front().path == row.path);
    CHECK(plan.assemblies.empty());
    CHECK(plan.bill.ropes.empty());
  }
}

TEST_CASE("A limit is taken at the limit and refused past it") {
  Job job = sample_job();
  Parts parts = sample_parts();
  job.assemblies[0].tension_kn = 15;  // 50 % of 30 kN: proof load in British practice
  parts.recipes.at("swage").press.capacity_kn = 500;
  parts.recipes.at("swage").die_pair.rated_force_kn = 500;
  parts.ropes.at("strand").diameter_mm.most = 6.45;
  CHECK(plan_of(job, parts).refusals.empty());
}

TEST_CASE("The job's pin distance stands in for one the terminal's file does not have") {
  Job job = sample_job();
  Parts parts = sample_parts();
  const double by_file = plan_of(job, parts).assemblies.at(0).account.cut_length_mm;
  parts.recipes.at("swage").terminal.pin_to_bore_end_mm.reset();
  for (End& end : job.assemblies[0].ends) end.pin_to_bore_end_mm = recipe::Band{41.8, 42.2};
  CHECK(by_file - plan_of(job, parts).assemblies.at(0).account.cut_length_mm == Approx(20).epsilon(0.01));
}

TEST_CASE("A planner is told what to look at twice") {
  const auto cautions = [](const Job& job) {
    std::set<Caution> out;
    for (const auto& caution : plan_of(job, sample_parts()).cautions) out.insert(caution.code);
    return out;
  };
  Job job = sample_job();
  CHECK(cautions(job) == std::set{Caution::growth_share_not_measured});
  for (End& end : job.assemblies[0].ends) end.growth_share = GrowthShare{0.3, 0.35, 0.4};
  CHECK(cautions(job).empty());
  job.assemblies[0].length_tolerance_mm = 0.5;
  job.assemblies[0].tension_kn = 8;
  CHECK(cautions(job) == std::set{Caution::tension_above_working_share, Caution::length_tolerance_too_tight});
  job = sample_job();
  job.assemblies[0].quantity = 41;
  job.destructive_samples = Samples{2, 200};
  CHECK(cautions(job) ==
        std::set{Caution::growth_share_not_measured, Caution::few_samples, Caution::short_samples});
  job.assemblies[0].quantity = 6000;
  job.destructive_samples = Samples{3, 254};
  CHECK(cautions(job) == std::set{Caution::growth_share_not_measured, Caution::die_life});
}
