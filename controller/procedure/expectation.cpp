#include "procedure/expectation.hpp"

#include <algorithm>

namespace shankwright::procedure {

std::vector<recipe::PlannedBite> plan_of_pass(int pass, const recipe::JoinedRecipe& joined) {
  const double most = joined.recipe.growth_fraction.most;
  const double before_this_pass = pass <= 1 ? 0 : pass == 2 ? first_pass_growth_share * most : most;
  return recipe::bite_plan(joined, before_this_pass);
}

recipe::Band accepted_edges_mm(const State& state, const recipe::JoinedRecipe& joined) {
  const auto plan = plan_of_pass(state.pass, joined);
  if (state.bite < 0 || static_cast<std::size_t>(state.bite) >= plan.size()) return {0, -1};
  recipe::Band band = plan[static_cast<std::size_t>(state.bite)].accepted_mm;
  band.least = std::max(band.least, joined.recipe.least_edge_mm);
  if (state.previous_edge_mm)
    band.most = std::min(
        band.most, *state.previous_edge_mm + joined.die_pair.length_mm - joined.recipe.least_overlap_mm);
  return band;
}

double engaged_length_mm(const State& state, double edge_mm, const recipe::JoinedRecipe& joined) {
  const double die_mm = joined.die_pair.length_mm;
  const double mid_growth = (joined.recipe.growth_fraction.least + joined.recipe.growth_fraction.most) / 2;
  const double progress = state.bites_in_pass > 0 ? static_cast<double>(state.bite) / state.bites_in_pass : 0;
  const double share = state.pass <= 1 ? first_pass_growth_share * progress
                                       : first_pass_growth_share + (1 - first_pass_growth_share) * progress;
  const double bore_mm = state.bore_depth_mm.value_or(joined.terminal.bore_depth_mm.least);
  const double mouth_mm = bore_mm + joined.terminal.swage_length_mm * mid_growth * share;
  const double under_die_mm = std::clamp(mouth_mm - edge_mm, 0.0, die_mm);
  const double overlap_mm =
      state.previous_edge_mm ? std::clamp(*state.previous_edge_mm + die_mm - edge_mm, 0.0, die_mm) : 0.0;
  return std::max(0.0, under_die_mm - overlap_mm);
}

std::vector<recipe::ForceAtGap> coming_envelope(const State& state, double edge_mm,
                                                const recipe::JoinedRecipe& joined) {
  const auto& passes = joined.recipe.envelope;
  if (state.pass < 1 || static_cast<std::size_t>(state.pass) > passes.size()) return {};
  std::vector<recipe::ForceAtGap> envelope = passes[static_cast<std::size_t>(state.pass) - 1];
  const double die_mm = joined.die_pair.length_mm;
  const double share = die_mm > 0 ? engaged_length_mm(state, edge_mm, joined) / die_mm : 0;
  for (auto& point : envelope) {
    point.force_kn.least *= share;
    point.force_kn.most *= share;
  }
  return envelope;
}

}  // namespace shankwright::procedure
