#include "trial/statistics.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace shankwright::trial {

Moments moments(std::span<const double> values) {
  Moments out;
  out.count = values.size();
  if (values.empty()) return out;
  double sum = 0;
  for (const double value : values) sum += value;
  out.mean = sum / static_cast<double>(values.size());
  if (values.size() < 2) return out;
  double squares = 0;
  for (const double value : values) squares += (value - out.mean) * (value - out.mean);
  out.deviation = std::sqrt(squares / static_cast<double>(values.size() - 1));
  return out;
}

Quantiles::Quantiles(std::vector<double> values) : sorted_(std::move(values)) {
  std::sort(sorted_.begin(), sorted_.end());
}

double Quantiles::at(double share) const {
  if (sorted_.empty()) return 0;
  const double place = std::clamp(share, 0., 1.) * static_cast<double>(sorted_.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted_.size() - 1);
  return std::lerp(sorted_[below], sorted_[above], place - static_cast<double>(below));
}

recipe::Band exact_limits(std::size_t hits, std::size_t count, double confidence) {
  if (count == 0) return {0, 1};
  if (hits > count) throw std::invalid_argument("more hits than tries");
  const double tail = (1 - confidence) / 2;
  const auto x = static_cast<double>(hits);
  const auto n = static_cast<double>(count);
  return {hits == 0 ? 0 : boost::math::ibeta_inv(x, n - x + 1, tail),
          hits == count ? 1 : boost::math::ibetac_inv(x + 1, n - x, tail)};
}

double cpk(double mean, double deviation, recipe::Band limits) {
  const double nearer = std::min(limits.most - mean, mean - limits.least);
  if (!(deviation > 0)) return std::copysign(std::numeric_limits<double>::infinity(), nearer);
  return nearer / (3 * deviation);
}

recipe::Band cpk_limits(double estimate, std::size_t count, double confidence) {
  if (count < 2 || !std::isfinite(estimate)) return {estimate, estimate};
  const double z = boost::math::quantile(boost::math::normal(), (1 + confidence) / 2);
  const auto n = static_cast<double>(count);
  // Cpk times the root, written so that a Cpk of 0 does no harm.
  const double half = z * std::sqrt(1 / (9 * n) + estimate * estimate / (2 * (n - 1)));
  return {estimate - half, estimate + half};
}

double variance_share(std::span<const double> units, std::span<const double> results, std::size_t slices) {
  if (units.size() != results.size()) throw std::invalid_argument("one unit number per result");
  if (slices < 2 || results.size() <= slices) return 0;
  std::vector<double> sums(slices, 0);
  std::vector<std::size_t> counts(slices, 0);
  const double mean = moments(results).mean;
  double whole = 0;
  for (std::size_t i = 0; i < results.size(); ++i) {
    const auto slice = std::min(slices - 1, static_cast<std::size_t>(units[i] * static_cast<double>(slices)));
    sums[slice] += results[i] - mean;
    counts[slice] += 1;
    whole += (results[i] - mean) * (results[i] - mean);
  }
  if (!(whole > 0)) return 0;
  double between = 0;
  double filled = 0;
  for (std::size_t slice = 0; slice < slices; ++slice) {
    if (counts[slice] == 0) continue;
    between += sums[slice] * sums[slice] / static_cast<double>(counts[slice]);
    filled += 1;
  }
  // Slices of mere chance would hold (slices - 1) / (n - 1) of the variance.
  const double seen = between / whole;
  const auto n = static_cast<double>(results.size());
  return std::max(0., 1 - (1 - seen) * (n - 1) / (n - filled));
}

}  // namespace shankwright::trial
