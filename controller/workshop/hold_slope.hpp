#pragma once
#include <optional>
#include <vector>

#include "ports/ports.hpp"

/// How the pressure goes while the dies are held closed: what a leaking valve or seal shows first. Pure.
namespace shankwright::workshop {

struct HoldSlope {
  double bar_per_min = 0;        ///< slope of the straight line through the hold; falling is negative
  double bar_per_min_error = 0;  ///< twice its standard error, from the samples' own scatter
  double mean_bar = 0;
  double held_ms = 0;
};

/// Least squares over the samples of the hold: from where the pressure first reaches 99.5 % of its greatest
/// value to where it is last above 97 %, less 50 ms at the beginning, when the oil still settles (shares and
/// time: common practice, no source). Nothing when less than 200 ms or 20 samples are left. Where the pump
/// works on during the hold, this shows how well it keeps the pressure, and no leak.
[[nodiscard]] std::optional<HoldSlope> hold_slope(const std::vector<ports::Sample>& trace);

}  // namespace shankwright::workshop
