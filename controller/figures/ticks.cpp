#include <algorithm>
#include <cmath>

#include "figures/chart.hpp"

namespace shankwright::figures {

Ticks ticks(double least, double most, int wanted) {
  Ticks out;
  if (!(most > least) || wanted < 1) return out;
  const double raw = (most - least) / wanted;
  const double power = std::pow(10, std::floor(std::log10(raw)));
  double step = 10 * power;
  for (const double factor : {1., 2., 5.}) {
    if (factor * power >= raw * 0.999) {
      step = factor * power;
      break;
    }
  }
  out.decimals = std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
  for (double k = std::ceil(least / step - 1e-9); k * step <= most + 1e-9 * step; ++k) {
    const double value = k * step;
    out.at.push_back(value == 0 ? 0 : value);  // no minus zero
  }
  return out;
}

}  // namespace shankwright::figures
