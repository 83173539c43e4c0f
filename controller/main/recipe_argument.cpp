#include "main/recipe_argument.hpp"

#include <algorithm>
#include <filesystem>

namespace shankwright::command {

Result<recipe::JoinedRecipe> recipe_argument(const std::string& named, const std::string& folder) {
  namespace fs = std::filesystem;
  const fs::path path(named);
  const bool is_path = path.extension() == ".yaml";
  const fs::path own = is_path ? path.parent_path().parent_path() : fs::path(folder);
  const library::Library library = library::load(own.empty() ? fs::path(".") : own);
  const std::string name = is_path ? path.stem().string() : named;
  const auto joined =
      library.revisions.contains(name) ? library::join_revision(library, name) : library::join(library, name);
  if (joined.ok() || library.faults.empty()) return joined;
  // A recipe that has faults is not in the library: its own faults say more than that.
  const auto own_fault =
      std::find_if(library.faults.begin(), library.faults.end(),
                   [&](const Problem& fault) { return fault.place.find("/" + name) != std::string::npos; });
  return own_fault == library.faults.end() ? joined : Result<recipe::JoinedRecipe>(*own_fault);
}

}  // namespace shankwright::command
