#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "recipe/model.hpp"

/// The statistics of a trial, each with its source. Sums run in the order of the values given, so the same
/// values give the same answer to the last bit.
namespace shankwright::trial {

/// Mean and standard deviation (n - 1) of what was seen.
struct Moments {
  std::size_t count = 0;
  double mean = 0;
  double deviation = 0;
};
[[nodiscard]] Moments moments(std::span<const double> values);

/// Sorted values, asked for quantiles with linear interpolation between order statistics (Hyndman and Fan,
/// The American Statistician 50, 1996, type 7). 0 of nothing.
class Quantiles {
 public:
  explicit Quantiles(std::vector<double> values);
  [[nodiscard]] double at(double share) const;
  [[nodiscard]] std::size_t count() const { return sorted_.size(); }

 private:
  std::vector<double> sorted_;
};

/// Exact two-sided limits of a share seen `hits` times in `count` (Clopper and Pearson, Biometrika 26, 1934),
/// by quantiles of the beta distribution. `confidence` 0.95 leaves 0.025 on either side. 0 to 1 of nothing.
[[nodiscard]] recipe::Band exact_limits(std::size_t hits, std::size_t count, double confidence = 0.95);

/// Distance of the nearer limit from the mean over three standard deviations.
[[nodiscard]] double cpk(double mean, double deviation, recipe::Band limits);

/// Approximate two-sided confidence limits of Cpk estimated from `count` pieces: Bissell, Applied Statistics
/// 39 (1990), as in Montgomery, Introduction to Statistical Quality Control (formula from memory):
/// Cpk (1 -+ z sqrt(1 / (9 n Cpk^2) + 1 / (2 (n - 1)))).
[[nodiscard]] recipe::Band cpk_limits(double estimate, std::size_t count, double confidence = 0.95);

/// Share of the variance of `results` that goes with one input alone (first-order index, also called the
/// correlation ratio): variance of the mean within slices of the input over the whole variance, less what
/// chance would give, never below 0. `units` are the input's evenly spread numbers in (0, 1), one per result.
/// McKay, Evaluating prediction uncertainty, NUREG/CR-6311 (1995), from memory.
[[nodiscard]] double variance_share(std::span<const double> units, std::span<const double> results,
                                    std::size_t slices = 100);

}  // namespace shankwright::trial
