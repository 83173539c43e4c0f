#include "library/recipe_text.hpp"

#include "library/checks.hpp"

namespace shankwright::library {

RecipeText check_recipe_text(const std::string& text, const std::string& name, const Library& library) {
  RecipeText out;
  FaultList faults(name), warnings(name);
  if (const auto root = parse_yaml(text, faults)) {
    const Loaded<recipe::Recipe> loaded = read_recipe(*root, faults);
    out.recipe = loaded.value;
    check_recipe_alone(loaded, faults);
    Library with_it = library;
    with_it.recipes.insert_or_assign(loaded.value.id, loaded.value);
    if (auto joined = join(with_it, loaded.value.id)) {
      out.joined = std::move(joined).value();
      check_recipe_joined(loaded, *out.joined, faults, warnings);
    } else {
      out.faults.push_back(joined.problem());
    }
  }
  for (Problem& problem : faults.take()) out.faults.push_back(std::move(problem));
  out.warnings = warnings.take();
  return out;
}

}  // namespace shankwright::library
