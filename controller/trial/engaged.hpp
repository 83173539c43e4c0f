#pragma once
#include "recipe/model.hpp"

namespace shankwright::trial {

/// Length of shank not yet squeezed in this pass under the bite that has most of it, mm, for a shank of mid
/// bore depth whose swaged length has grown by `growth_before` before the pass and by `growth_after` at its
/// end. recipe::bite_plan's bites at their planned edges.
[[nodiscard]] double most_engaged_mm(const recipe::JoinedRecipe& joined, double growth_before,
                                     double growth_after);

/// Share of the swage length that the dies reach and that so grows.
[[nodiscard]] double pressed_share(const recipe::JoinedRecipe& joined);

}  // namespace shankwright::trial
