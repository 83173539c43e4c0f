#pragma once
#include <vector>

#include "recipe/model.hpp"

namespace shankwright::recipe {

/// Where each bite of one pass belongs. Edge distance is from the bore end to the die's nearer edge along the
/// axis, positive toward the mouth: the same sense as the press map's edge_distance.
struct PlannedBite {
  double edge_mm = 0;  ///< planned edge distance
  Band accepted_mm;  ///< edge distances the interlock takes, before the previous bite's real position narrows
                     ///< it
};

/// Bites of one pass from the bore end toward the mouth. The first lies bore_end_clearance from the bore end;
/// the last reaches past the mouth end of the swage length as grown so far (`growth_so_far`, a fraction);
/// between them the pitch is even and never so long that two bites both at the far ends of their tolerance
/// would overlap by less than least_overlap. A swage length shorter than the die gives one bite.
///
/// Promises, for every set of edges inside the accepted bands: the die never comes nearer to solid material
/// than least_edge; neighbours overlap by least_overlap or more; the last bite covers the mouth of a shank
/// with the deepest accepted bore that has grown by `growth_so_far` and, where earlier bites of the pass push
/// the mouth on, as far as the recipe's growth band allows.
///
/// Empty when no plan keeps these promises (a tolerance that eats the die length, more than 50 bites):
/// `recipe check` refuses such a recipe, so a joined recipe from the library never gives an empty plan.
[[nodiscard]] std::vector<PlannedBite> bite_plan(const JoinedRecipe& joined, double growth_so_far);

}  // namespace shankwright::recipe
