#pragma once
#include <string>

#include "library/library.hpp"

namespace shankwright::command {

/// The recipe a person names, with all it refers to: an id of the library in `folder`, "id.rREVISION" for one revision (a draft
/// too), or the path of a recipe file in a library (`…/recipes/ID.rREVISION.yaml`; `folder` is then not looked at).
[[nodiscard]] Result<recipe::JoinedRecipe> recipe_argument(const std::string& named, const std::string& folder);

}  // namespace shankwright::command
