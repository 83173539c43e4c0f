#include "prediction/recipe_plan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <thread>

#include "mechanics/thick_wall.hpp"
#include "prediction/cautions.hpp"
#include "procedure/expectation.hpp"

namespace shankwright::prediction {
namespace {

/// A die body taken as a ring three times its cavity across, of tool steel: no drawing gives more. Half to
/// double this is possible.
constexpr double die_body_ratio = 3;
constexpr double die_young_mpa = 210000;
constexpr double die_poisson = 0.3;
/// Seal friction and the pressure sensor's error stand between the oil and the dies until a force calibration
/// tells more.
constexpr double force_allowance = 0.03;

Part at_ends(const recipe::JoinedRecipe& joined, double side, double grip) {
  const Population population = population_of(joined);
  Part part = population.centre();
  for (const Input input : {Input::shank_diameter, Input::rope_diameter, Input::strength, Input::friction})
    part[input] += side * population[input].half_width;
  for (const Input input : {Input::bore, Input::across_flats})
    part[input] -= side * population[input].half_width;
  part[Input::grip] = grip;
  return part;
}

std::vector<PassForecast> forecast(const recipe::JoinedRecipe& joined,
                                   const mechanics::SqueezeCourse& course) {
  const double loose = 4 * joined.rope.metallic_area_factor / std::numbers::pi;
  std::vector<PassForecast> out;
  for (const mechanics::PassResult& pass : course.after) {
    PassForecast f;
    f.pass = pass.pass;
    f.touch_gap_mm = pass.touch_gap_mm;
    f.closing_force_n_per_mm = pass.closing_force_n_per_mm;
    for (const mechanics::SqueezePoint& point : course.points)
      if (point.pass == pass.pass) f.die_pressure_mpa = point.die_pressure_mpa;
    const double across = joined.die_pair.across_flats_mm;
    // The force spread over the cavity as a pressure all round; the die opens by that much, and the shank
    // with it.
    f.die_stretch_mm = mechanics::elastic_widening_mm(
        across, die_body_ratio * across, pass.closing_force_n_per_mm / across, die_young_mpa, die_poisson);
    f.earlier_flats_mm = pass.pass > 1 ? pass.earlier_flats_mm + f.die_stretch_mm : 0;
    f.growth = pass.growth;
    f.spring_back_mm = pass.spring_back_mm;
    f.across_flats_mm = pass.across_flats_mm + f.die_stretch_mm;
    f.flash_mm = pass.flash_mm;
    f.rope_packing = pass.rope_packing;
    f.voids_closed = loose < 1 ? std::clamp((pass.rope_packing - loose) / (1 - loose), 0., 1.) : 0;
    out.push_back(f);
  }
  return out;
}

/// Bites of every pass with the shank that lies under each. The mouth moves on with every bite by its share
/// of the pass's predicted growth.
std::vector<BiteForecast> forecast_bites(const recipe::JoinedRecipe& joined, const RecipePlan& plan) {
  std::vector<BiteForecast> out;
  const double die = joined.die_pair.length_mm;
  const double bore = (joined.terminal.bore_depth_mm.least + joined.terminal.bore_depth_mm.most) / 2;
  double growth_before = 0;
  for (std::size_t p = 0; p < plan.passes.size(); ++p) {
    const auto edges = procedure::plan_of_pass(static_cast<int>(p) + 1, joined);
    for (std::size_t b = 0; b < edges.size(); ++b) {
      const double share = static_cast<double>(b) / static_cast<double>(edges.size());
      const double growth = growth_before + share * (plan.passes[p].growth - growth_before);
      const double mouth = bore + joined.terminal.swage_length_mm * growth;
      BiteForecast bite;
      bite.pass = static_cast<int>(p) + 1;
      bite.bite = static_cast<int>(b) + 1;
      bite.edge_mm = edges[b].edge_mm;
      bite.under_die_mm = std::clamp(mouth - bite.edge_mm, 0., die);
      const double lap =
          b > 0 ? std::clamp(edges[b - 1].edge_mm + die - bite.edge_mm, 0., bite.under_die_mm) : 0;
      bite.fresh_mm = bite.under_die_mm - lap;
      // Faces met: what was squeezed before has sprung back and is pressed as hard as when it was fresh.
      bite.typical_kn = plan.passes[p].closing_force_n_per_mm * bite.under_die_mm / 1000;
      bite.strongest_kn = plan.passes_strongest[p].closing_force_n_per_mm * bite.under_die_mm / 1000;
      out.push_back(bite);
    }
    growth_before = plan.passes[p].growth;
  }
  return out;
}

}  // namespace

Part strongest_part(const recipe::JoinedRecipe& joined) {
  const Scatter grip = population_of(joined)[Input::grip];
  return at_ends(joined, 1, grip.centre + grip.half_width);
}
Part weakest_part(const recipe::JoinedRecipe& joined) {
  return at_ends(joined, -1, 0);
}

Result<RecipePlan> plan_recipe(const recipe::JoinedRecipe& joined, unsigned threads,
                               mechanics::Fineness fineness) {
  RecipePlan plan;
  plan.typical = population_of(joined).centre();
  plan.strongest = strongest_part(joined);
  plan.weakest = weakest_part(joined);
  if (joined.die_pair.across_flats_mm >= joined.terminal.shank_diameter_mm.least) {
    plan.warnings = {caution_die_leaves_shank(joined)};
    return plan;
  }
  Part gripped = plan.strongest;
  gripped[Input::grip] = 1;
  const std::array<const Part*, 4> parts{&plan.strongest, &plan.typical, &plan.weakest, &gripped};
  std::array<std::optional<Result<mechanics::SqueezeCourse>>, 4> runs;
  const auto run = [&](std::size_t i) {
    mechanics::SqueezeInput input = squeeze_input(joined, filling_of(joined), *parts[i]);
    input.fineness = fineness;
    runs[i] = mechanics::squeeze(input, {});
  };
  {
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < parts.size(); ++i) {
      if (threads > 1)
        others.emplace_back(run, i);
      else
        run(i);
    }
    run(0);
  }
  for (std::size_t i = 0; i < 3; ++i)
    if (!runs[i]->ok()) return runs[i]->problem();
  plan.passes_strongest = forecast(joined, runs[0]->value());
  plan.passes = forecast(joined, runs[1]->value());
  plan.passes_weakest = forecast(joined, runs[2]->value());
  if (runs[3]->ok())
    plan.passes_gripped = forecast(joined, runs[3]->value());  // else beyond the model, and so of any press
  plan.bites = forecast_bites(joined, plan);

  double strongest = 0;
  for (const BiteForecast& bite : plan.bites) {
    strongest = std::max(strongest, bite.strongest_kn);
    plan.needed_typical_kn = std::max(plan.needed_typical_kn, bite.typical_kn);
    if (!plan.passes_gripped.empty()) {
      const double gripped_kn =
          plan.passes_gripped[static_cast<std::size_t>(bite.pass - 1)].closing_force_n_per_mm *
          bite.under_die_mm / 1000;
      plan.needed_gripped_kn = std::max(plan.needed_gripped_kn, gripped_kn * (1 + force_allowance));
    }
  }
  plan.allowance_share = force_allowance;
  plan.needed_kn = strongest * (1 + force_allowance);
  plan.target_kn = joined.recipe.target_force_kn;
  const auto bar = [&](double kn) {
    return joined.press.ram_area_mm2 > 0 ? kn * 1e4 / joined.press.ram_area_mm2 : 0;
  };
  plan.target_bar = bar(plan.target_kn);
  plan.needed_bar = bar(plan.needed_kn);
  const auto margin = [&](const char* of, double limit_kn) {
    if (limit_kn > 0) plan.margins.push_back({of, limit_kn, 1 - plan.target_kn / limit_kn});
  };
  margin("press capacity", joined.press.capacity_kn);
  margin("press pressure", joined.press.pressure_max_bar * joined.press.ram_area_mm2 / 1e4);
  margin("die rating", joined.die_pair.rated_force_kn);
  margin("force limit of the recipe", joined.recipe.force_limit_kn);
  std::stable_sort(plan.margins.begin(), plan.margins.end(),
                   [](const Margin& a, const Margin& b) { return a.share < b.share; });
  plan.warnings = cautions_of(joined, plan);
  return plan;
}

}  // namespace shankwright::prediction
