#pragma once
#include <algorithm>
#include <cmath>

#include "simulators/plant/plant.hpp"

namespace shankwright::plant {

/// Flows and compressibility of one press in one moment, faults included. bar, mm3/s.
class Hydraulics {
 public:
  Hydraulics(const PressTruth& truth, const Faults& faults, double oil_temperature_c);

  [[nodiscard]] double pump_mm3_s(double bar,
                                  bool first_stage_unloaded) const;  ///< falls with pressure, never below 0
  [[nodiscard]] double leak_mm3_s(double bar) const;
  [[nodiscard]] double relief_mm3_s(double bar) const;
  [[nodiscard]] double drain_mm3_s(double bar) const;  ///< ram to tank with the valve open
  [[nodiscard]] double compression(double bar) const;  ///< fraction of the volume at 0 bar

 private:
  const PressTruth& truth_;
  double relief_bar_, air_fraction_, wear_, leak_mm3_s_bar_, thinness_, bulk_modulus_mpa_;
};

/// Root of a function that falls from above 0 at `low`; `high` is where it is below 0, or far enough.
/// Illinois variant of false position, with a halving every third step so that no kink can stall it.
template <typename Function>
double falling_root(Function function, double low, double high) {
  constexpr double close_enough = 1e-3;
  double at_low = function(low), at_high = function(high);
  if (at_low <= 0) return low;
  if (at_high >= 0) return high;
  for (int i = 0; i < 100 && high - low > 1e-10 * (1 + std::abs(high)); ++i) {
    const double middle = i % 3 == 2 ? (low + high) / 2 : high - at_high * (high - low) / (at_high - at_low);
    const double value = function(middle);
    if (std::abs(value) < close_enough) return middle;
    if (value > 0) {
      low = middle;
      at_low = value;
      at_high /= 2;
    } else {
      high = middle;
      at_high = value;
      at_low /= 2;
    }
  }
  return (low + high) / 2;
}

}  // namespace shankwright::plant
