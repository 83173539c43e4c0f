#include "trial/engaged.hpp"

#include <algorithm>

#include "recipe/bite_plan.hpp"

namespace shankwright::trial {
namespace {

double mid(recipe::Band band) {
  return (band.least + band.most) / 2;
}

}  // namespace

double most_engaged_mm(const recipe::JoinedRecipe& joined, double growth_before, double growth_after) {
  const double die_mm = joined.die_pair.length_mm;
  const auto plan = recipe::bite_plan(joined, growth_before);
  if (plan.empty()) return die_mm;
  double most = 0;
  for (std::size_t bite = 0; bite < plan.size(); ++bite) {
    // The dies hold a bite when its own growth is done.
    const double progress = static_cast<double>(bite + 1) / static_cast<double>(plan.size());
    const double grown = growth_before + (growth_after - growth_before) * progress;
    const double mouth_mm = mid(joined.terminal.bore_depth_mm) + joined.terminal.swage_length_mm * grown;
    const double under_mm = std::clamp(mouth_mm - plan[bite].edge_mm, 0., die_mm);
    const double lapped_mm =
        bite == 0 ? 0 : std::clamp(plan[bite - 1].edge_mm + die_mm - plan[bite].edge_mm, 0., die_mm);
    most = std::max(most, under_mm - lapped_mm);
  }
  return most;
}

double pressed_share(const recipe::JoinedRecipe& joined) {
  const double swage_mm = joined.terminal.swage_length_mm;
  if (!(swage_mm > 0)) return 1;
  const double reached_mm = mid(joined.terminal.bore_depth_mm) - joined.recipe.bore_end_clearance_mm;
  return std::max(0., reached_mm / swage_mm);
}

}  // namespace shankwright::trial
