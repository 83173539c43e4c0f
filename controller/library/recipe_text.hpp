#pragma once
#include <optional>
#include <string>
#include <vector>

#include "library/library.hpp"

namespace shankwright::library {

/// A recipe's text, checked against a library that does not hold it yet.
struct RecipeText {
  std::optional<recipe::Recipe> recipe;        ///< nothing where the text cannot be read at all
  std::optional<recipe::JoinedRecipe> joined;  ///< with what it names, where the library has all of it
  std::vector<Problem> faults, warnings;
};

/// `name` stands for the file in each problem's place.
[[nodiscard]] RecipeText check_recipe_text(const std::string& text, const std::string& name,
                                           const Library& library);

}  // namespace shankwright::library
