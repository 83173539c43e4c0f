#pragma once
#include "prediction/recipe_plan.hpp"

namespace shankwright::prediction {

/// What of this plan a person must look at before anything is pressed, most serious first.
[[nodiscard]] std::vector<Warning> cautions_of(const recipe::JoinedRecipe& joined, const RecipePlan& plan);
[[nodiscard]] Warning caution_die_leaves_shank(const recipe::JoinedRecipe& joined);

}  // namespace shankwright::prediction
