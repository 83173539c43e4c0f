#include "planning/cut_length.hpp"

#include <algorithm>

namespace shankwright::planning {

double free_rope_under_tension_mm(const CutInputs& inputs) {
  double free_mm = inputs.pin_to_pin_mm;
  for (const EndLengths& end : inputs.ends) free_mm -= end.deduction_mm + end.growth_mm;
  return free_mm;
}

double free_rope_at_rest_mm(const CutInputs& inputs) {
  return free_rope_under_tension_mm(inputs) /
         ((1 + inputs.elastic_strain) * (1 + inputs.constructional_stretch));
}

double rope_inside_mm(const EndLengths& end) {
  return end.insertion_mm + (1 - end.growth_share) * end.growth_mm;
}

double cut_length_mm(const CutInputs& inputs) {
  return free_rope_at_rest_mm(inputs) + rope_inside_mm(inputs.ends[0]) + rope_inside_mm(inputs.ends[1]);
}

GrowthShare default_growth_share(const recipe::JoinedRecipe& joined) {
  const recipe::Terminal& terminal = joined.terminal;
  const double bore_depth_mm = (terminal.bore_depth_mm.least + terminal.bore_depth_mm.most) / 2;
  const double from_mm =
      std::max(joined.recipe.bore_end_clearance_mm, bore_depth_mm - terminal.swage_length_mm);
  const double to_mm =
      std::min(joined.recipe.bore_end_clearance_mm + joined.die_pair.length_mm, bore_depth_mm);
  const double worked = std::max(0.0, to_mm - from_mm) / terminal.swage_length_mm;
  return {0, 0, std::min(worked, 1.0) / 2};
}

}  // namespace shankwright::planning
