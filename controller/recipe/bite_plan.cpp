#include "recipe/bite_plan.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::recipe {
namespace {

constexpr int bites_most = 50;
/// Slack for comparing lengths that went through different sums, mm.
constexpr double rounding_mm = 1e-9;

bool usable(const JoinedRecipe& joined, double growth_so_far) {
  const Recipe& r = joined.recipe;
  const auto sound = [](double value) { return std::isfinite(value) && value >= 0; };
  return sound(growth_so_far) && sound(joined.die_pair.length_mm) && joined.die_pair.length_mm > 0 &&
         sound(joined.terminal.bore_depth_mm.most) && sound(joined.terminal.swage_length_mm) &&
         sound(r.bore_end_clearance_mm) && sound(r.position_tolerance_mm) && sound(r.least_edge_mm) &&
         sound(r.least_overlap_mm) && std::isfinite(r.growth_fraction.most) &&
         r.least_edge_mm <= r.bore_end_clearance_mm;
}

/// Distance from the first planned edge to the last one of `bites` (2 or more).
///
/// Earlier bites of this pass push the mouth on before the last one comes. With g1 = growth so far, g2 = the
/// most the recipe accepts, each pressed millimetre (as it lies now) may hold (g2 - g1)/(1 + g2) of new
/// length. The bites before the last press at most P = last-but-one edge - first edge + die length + both
/// tolerances, so
///   y = bore depth + swage length g1 + s P - die length + tolerance - first edge,  P = y (n-2)/(n-1) + die +
///   2 tol,
/// which is linear in y; and no more shank can be pressed than lies between the first edge and the mouth.
double span_to_last_edge(const JoinedRecipe& joined, double growth_so_far, int bites) {
  const Recipe& r = joined.recipe;
  const double die = joined.die_pair.length_mm;
  const double tolerance = r.position_tolerance_mm;
  const double growth_most = std::max(growth_so_far, r.growth_fraction.most);
  const double share = (growth_most - growth_so_far) / (1 + growth_most);
  const double before_last = static_cast<double>(bites - 2) / (bites - 1);
  const double base = joined.terminal.bore_depth_mm.most - die + tolerance - r.bore_end_clearance_mm;
  const double grown = joined.terminal.swage_length_mm * growth_so_far;
  const double pushed = (base + grown + share * (die + 2 * tolerance)) / (1 - share * before_last);
  const double first_least = std::max(r.bore_end_clearance_mm - tolerance, r.least_edge_mm);
  const double pressable = joined.terminal.bore_depth_mm.most + grown - first_least;
  return std::min(pushed, base + grown + (growth_most - growth_so_far) / (1 + growth_so_far) * pressable);
}

}  // namespace

std::vector<PlannedBite> bite_plan(const JoinedRecipe& joined, double growth_so_far) {
  if (!usable(joined, growth_so_far)) return {};
  const Recipe& r = joined.recipe;
  const double die = joined.die_pair.length_mm;
  const double tolerance = r.position_tolerance_mm;
  const double first = r.bore_end_clearance_mm;
  const double mouth = joined.terminal.bore_depth_mm.most + joined.terminal.swage_length_mm * growth_so_far;
  const double first_least = std::max(first - tolerance, r.least_edge_mm);

  if (first + die >= mouth - rounding_mm) {
    return {{first, {std::min(first, std::max(first_least, mouth - die)), first + tolerance}}};
  }
  const double pitch_most = die - r.least_overlap_mm - 2 * tolerance;
  if (pitch_most <= 0) return {};
  for (int bites = 2; bites <= bites_most; ++bites) {
    const double pitch = span_to_last_edge(joined, growth_so_far, bites) / (bites - 1);
    if (pitch > pitch_most + rounding_mm) continue;
    std::vector<PlannedBite> plan;
    for (int i = 0; i < bites; ++i) {
      const double edge = first + i * pitch;
      plan.push_back({edge, {std::max(edge - tolerance, r.least_edge_mm), edge + tolerance}});
    }
    return plan;
  }
  return {};
}

}  // namespace shankwright::recipe
