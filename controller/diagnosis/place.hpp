#pragma once
#include "diagnosis/observation.hpp"
#include "procedure/state.hpp"

namespace shankwright::diagnosis {

/// How much fresh and how much squeezed shank the coming bite of this state works at this edge, from the same
/// expectation that scales the recipe's envelope (procedure/expectation.hpp), with how well that is known:
/// edges to a quarter of a millimetre, the mouth to a seventh of the growth it is expected to have made.
[[nodiscard]] BitePlace place_of(const procedure::State& state, double edge_mm,
                                 const recipe::JoinedRecipe& joined);

}  // namespace shankwright::diagnosis
