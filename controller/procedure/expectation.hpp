#pragma once
#include "procedure/state.hpp"
#include "recipe/bite_plan.hpp"
#include "recipe/model.hpp"

/// What the procedure expects of the coming bite. Pure arithmetic on the recipe and the fitting's own
/// readings.
namespace shankwright::procedure {

/// Share of the total growth that the first pass makes: 9.63 of 14.02 points in the finite-element reference
/// case tube_empty_second_squeeze (CalculiX 2.20); the rest belongs to the pass after the quarter turn.
inline constexpr double first_pass_growth_share = 0.7;

/// Plan of the present pass, reaching the mouth even at the recipe's largest growth.
[[nodiscard]] std::vector<recipe::PlannedBite> plan_of_pass(int pass, const recipe::JoinedRecipe& joined);

/// Edge distances accepted for the coming bite: the plan's, narrowed so that the previous bite is overlapped.
/// Empty (least > most) when the coming bite is not in the plan.
[[nodiscard]] recipe::Band accepted_edges_mm(const State& state, const recipe::JoinedRecipe& joined);

/// Length of shank the coming bite must work: under the die, short of the mouth, and not yet squeezed by the
/// previous bite of this pass. The recipe's force envelope is for a whole die length and scales with it.
[[nodiscard]] double engaged_length_mm(const State& state, double edge_mm,
                                       const recipe::JoinedRecipe& joined);

/// Forces accepted while the dies close on the coming bite at this edge: the recipe's envelope of the present
/// pass, scaled to the engaged length. Empty for a re-press, which has no envelope.
[[nodiscard]] std::vector<recipe::ForceAtGap> coming_envelope(const State& state, double edge_mm,
                                                              const recipe::JoinedRecipe& joined);

}  // namespace shankwright::procedure
