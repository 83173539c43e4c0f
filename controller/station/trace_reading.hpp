#pragma once
#include <vector>

#include "ports/ports.hpp"
#include "recipe/model.hpp"

/// What a bite's samples say. Pure.
namespace shankwright::station {

/// Force on the ram, kN, from pressure in bar and area in mm2: F = p A, 1 bar = 0.1 N/mm2. Seal friction is
/// not in it.
[[nodiscard]] double force_kn(double pressure_bar, double ram_area_mm2);
/// The inverse, bar.
[[nodiscard]] double pressure_bar(double force_kn, double ram_area_mm2);

[[nodiscard]] double peak_pressure_bar(const std::vector<ports::Sample>& trace);

/// Force at each gap of the envelope, read off the closing part of the trace between the two samples on
/// either side of the gap. A gap the closing never reached reads 0: nothing was proven there.
[[nodiscard]] std::vector<double> force_at_gaps_kn(const std::vector<ports::Sample>& trace,
                                                   const std::vector<recipe::ForceAtGap>& envelope,
                                                   double ram_area_mm2);

}  // namespace shankwright::station
