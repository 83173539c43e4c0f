#include "library/library.hpp"

#include "library/load.hpp"
#include "library/nearest.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::library {
namespace {

template <typename T>
std::vector<std::string> names(const std::map<std::string, T>& of) {
  std::vector<std::string> out;
  out.reserve(of.size());
  for (const auto& [name, value] : of) out.push_back(name);
  return out;
}

template <typename T>
std::optional<Problem> take(const std::map<std::string, T>& from, const std::string& id, const char* key,
                            const char* called, T& into) {
  const auto found = from.find(id);
  if (found == from.end()) {
    const std::string near = nearest(id, names(from));
    return Problem{key, quantity::as_written(id),
                   std::string(called) + " of the library without faults" +
                       (near.empty() ? "" : "; the nearest is \"" + near + "\"")};
  }
  into = found->second;
  return std::nullopt;
}

}  // namespace

Library load(const std::filesystem::path& folder) {
  LoadReport report = load_report(folder);
  for (auto& [file, problems] : report.faults) {
    report.library.faults.insert(report.library.faults.end(), problems.begin(), problems.end());
  }
  for (auto& [file, problems] : report.warnings) {
    report.library.warnings.insert(report.library.warnings.end(), problems.begin(), problems.end());
  }
  return std::move(report.library);
}

namespace {

Result<recipe::JoinedRecipe> join_from(const Library& lib,
                                       const std::map<std::string, recipe::Recipe>& recipes,
                                       const std::string& named) {
  recipe::JoinedRecipe joined;
  recipe::Recipe& r = joined.recipe;
  if (auto problem = take(recipes, named, "recipe", "a recipe", r)) return *problem;
  if (auto problem = take(lib.ropes, r.rope, "rope", "a rope", joined.rope)) return *problem;
  if (auto problem = take(lib.terminals, r.terminal, "terminal", "a terminal", joined.terminal))
    return *problem;
  if (auto problem = take(lib.die_pairs, r.die_pair, "die_pair", "a die pair", joined.die_pair))
    return *problem;
  if (auto problem = take(lib.presses, r.press, "press", "a press", joined.press)) return *problem;
  if (auto problem = take(lib.gauges, r.go_gauge, "go_gauge", "a gauge", joined.go_gauge)) return *problem;
  if (auto problem = take(lib.gauges, r.no_go_gauge, "no_go_gauge", "a gauge", joined.no_go_gauge))
    return *problem;
  for (const std::string& id : r.measuring_gauges) {
    if (auto problem =
            take(lib.gauges, id, "measuring_gauges", "a gauge", joined.measuring_gauges.emplace_back()))
      return *problem;
  }
  return joined;
}

}  // namespace

Result<recipe::JoinedRecipe> join(const Library& lib, const std::string& recipe_id) {
  return join_from(lib, lib.recipes, recipe_id);
}

Result<recipe::JoinedRecipe> join_revision(const Library& lib, const std::string& revision) {
  return join_from(lib, lib.revisions, revision);
}

}  // namespace shankwright::library
