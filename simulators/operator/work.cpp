#include "simulators/operator/work.hpp"

#include <fmt/format.h>

namespace shankwright::demo {
namespace {

/// Small sizes, which press in a few seconds, and a metric one.
const std::vector<std::string> usual_recipes{"straight-shank-1-8-7x19", "straight-shank-5-32-7x19",
                                             "straight-shank-3-16-7x19", "straight-shank-4-1x19",
                                             "straight-shank-5-1x19"};

std::string free_lot(const Json& lots, const Json& of) {
  for (const Json& lot : lots)
    if (lot.at("of") == of && lot.at("quarantined") == false) return lot.at("id");
  return "";
}

/// Why this recipe cannot be made; empty when `work` now says how.
std::string plan(const Json& library, const std::string& id, Work& work) {
  for (const Json& recipe : library.at("recipes")) {
    if (recipe.at("id") != id) continue;
    if (recipe.at("status") != "released") return "it is not released";
    work = {id, recipe.at("rope"), recipe.at("die_pair"),
            free_lot(library.at("rope_lots"), recipe.at("rope")),
            free_lot(library.at("terminal_lots"), recipe.at("terminal"))};
    if (work.rope_lot.empty()) return "the shop has no free lot of its rope";
    if (work.terminal_lot.empty()) return "the shop has no free lot of its terminal";
    return "";
  }
  return "the station does not know it";
}

}  // namespace

std::vector<Work> work_to_choose_from(const Json& library, const std::vector<std::string>& wanted) {
  std::vector<Work> choice;
  for (const std::string& id : wanted.empty() ? usual_recipes : wanted) {
    Work work;
    const std::string why_not = plan(library, id, work);
    if (why_not.empty())
      choice.push_back(work);
    else if (!wanted.empty())
      throw Stuck(fmt::format("recipe {} cannot be made: {}", id, why_not));
  }
  if (choice.empty()) throw Stuck("none of the usual recipes can be made here; name others with --recipe");
  return choice;
}

std::vector<Work> where_a_strand_is_wrong(const std::vector<Work>& choice) {
  std::vector<Work> ropes;
  for (const Work& work : choice)
    if (work.rope.find("1x19") == std::string::npos) ropes.push_back(work);
  return ropes.empty() ? choice : ropes;
}

}  // namespace shankwright::demo
