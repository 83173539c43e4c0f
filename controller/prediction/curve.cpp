#include <algorithm>
#include <cmath>

#include "prediction/surface.hpp"

namespace shankwright::prediction {
namespace {

/// Between the two evenly spaced values around this gap; touch gap at index 0, closed at the last.
double along(const std::vector<double>& values, double touch_gap_mm, double gap_mm) {
  if (values.empty()) return 0;
  const double last = static_cast<double>(values.size() - 1);
  const double place = touch_gap_mm > 0 ? std::clamp((1 - gap_mm / touch_gap_mm) * last, 0., last) : last;
  const auto low = std::min(static_cast<std::size_t>(place), values.size() - 1);
  const auto high = std::min(low + 1, values.size() - 1);
  return values[low] + (place - static_cast<double>(low)) * (values[high] - values[low]);
}

}  // namespace

double PassCurve::force_at(double gap_mm) const {
  return gap_mm >= touch_gap_mm ? 0 : along(force_n_per_mm, touch_gap_mm, gap_mm);
}

double PassCurve::growth_at(double gap_mm) const {
  return along(growth_loaded, touch_gap_mm, gap_mm);
}

double PassCurve::gap_at(double force) const {
  for (std::size_t i = 1; i < force_n_per_mm.size(); ++i) {
    if (force_n_per_mm[i] <= force) continue;
    const double rise = force_n_per_mm[i] - force_n_per_mm[i - 1];
    const double share = rise > 0 ? std::clamp((force - force_n_per_mm[i - 1]) / rise, 0., 1.) : 0;
    const double place =
        (static_cast<double>(i - 1) + share) / static_cast<double>(force_n_per_mm.size() - 1);
    return touch_gap_mm * (1 - place);
  }
  return 0;
}

}  // namespace shankwright::prediction
