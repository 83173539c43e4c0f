#pragma once
#include <cstdint>
#include <vector>

#include "ports/ports.hpp"

namespace shankwright::review {

/// What the samples of one bite say by themselves.
struct TraceSummary {
  double peak_pressure_bar = 0;
  double least_gap_mm = 0;
  std::uint32_t duration_ms = 0;      ///< first to last sample
  std::uint32_t longest_step_ms = 0;  ///< between neighbours; 2 in a trace without a hole
};
/// At least one sample.
[[nodiscard]] TraceSummary summary_of(const std::vector<ports::Sample>& trace);

/// Greatest pressure in each of `bins` equal parts of the way from the gap at which pressure first shows (a
/// twentieth of the peak) to the least gap, while the dies close. Parts without a sample take their
/// predecessor's value. Empty when the dies never closed under pressure.
[[nodiscard]] std::vector<double> pressure_while_closing(const std::vector<ports::Sample>& trace,
                                                         std::size_t bins);

}  // namespace shankwright::review
