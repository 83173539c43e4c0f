#pragma once
#include <vector>

#include "mechanics/squeeze.hpp"
#include "prediction/surface.hpp"

namespace shankwright::prediction {

/// Every number of one run laid end to end, so that runs can be added and compared: per pass touch gap,
/// forces, growths, recoils, packing, earlier flats. The order is this file's alone.
using Numbers = std::vector<double>;

inline constexpr std::size_t gaps_in_curve = 33;  ///< touch to closed, both ends included
inline constexpr std::size_t numbers_in_pass = 2 * gaps_in_curve + 6;

/// Runs the section through all passes, the first stopping at `first_stop_mm` (0: faces met). In that case
/// the first pass's own numbers are not those of a closed pass: use the later ones only.
[[nodiscard]] Result<Numbers> run_section(const mechanics::SqueezeInput& input, int passes,
                                          double first_stop_mm);

[[nodiscard]] std::vector<PassCurve> curves_of(const Numbers& numbers);

}  // namespace shankwright::prediction
