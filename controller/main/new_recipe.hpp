#pragma once
#include <string>

#include "library/library.hpp"

namespace CLI {
class App;
}

namespace shankwright::command {

/// What a recipe is to be made of that does not exist yet.
struct NewRecipe {
  std::string id, family, rope, terminal, die_pair, press, go_gauge, no_go_gauge;
};

void add_new_recipe_options(CLI::App& command, NewRecipe& fresh);

/// A recipe without forces, so that a trial can find them: parts by id, across flats from the limit gauges,
/// everything else as the shipped recipes have it (common practice, no source), to be looked over by a
/// person.
[[nodiscard]] Result<recipe::JoinedRecipe> begin_recipe(const NewRecipe& fresh,
                                                        const library::Library& library);

}  // namespace shankwright::command
