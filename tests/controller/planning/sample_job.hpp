#pragma once
#include "planning/plan.hpp"

namespace shankwright::planning::tests {

/// A 6 mm strand between two swaged forks, round figures throughout: pin to bore end 32, bore depth 64, swage
/// length 62, growth 20 %.
[[nodiscard]] recipe::JoinedRecipe sample_recipe();
[[nodiscard]] Parts sample_parts();
[[nodiscard]] Job sample_job();

}  // namespace shankwright::planning::tests
