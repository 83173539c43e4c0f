#include <algorithm>
#include <cmath>
#include <functional>

#include "simulators/plant/section.hpp"

/// What is left of a squeeze when the dies have opened, and whole plans of squeezes.
namespace shankwright::plant {

namespace {

constexpr double steel_modulus_mpa = 193000;  // AISI 304 annealed

}  // namespace

// Spring-back and elastic growth in proportion to the force per width, fitted to the reference cases
// (simulators/README.md): 0.025 mm at 3273 N/mm (tube_empty), 0.034 mm at 4748 N/mm (tube_7x19), 0.025 mm at
// 6724 N/mm (solid_bar).
double spring_back_mm(const SectionInput& input, const SectionState& state) {
  return (input.bore_mm > 0 ? 1.42 : 0.72) * state.peak_force_n_per_mm / steel_modulus_mpa;
}

double growth_after(const SectionInput& input, const SectionState& state) {
  const double elastic = 0.67 * state.peak_force_n_per_mm / (input.across_flats_mm * steel_modulus_mpa);
  return std::max(0.0, std::expm1(state.log_stretch) - elastic);
}

std::vector<double> widths_after_mm(const SectionInput& input, const SectionState& state) {
  if (state.imprints.empty()) return {input.shank_od_mm, input.shank_od_mm, input.shank_od_mm};
  const double gap = state.imprints.back().least_gap_mm;
  const double spring = spring_back_mm(input, state);
  // The base flats return a little more than the sides: reference cases 0.037 and 0.030 mm at W = 7.95 mm.
  const double base = std::min(input.shank_od_mm, input.across_flats_mm + gap + 1.12 * spring);
  const double side = std::min(input.shank_od_mm, input.across_flats_mm + gap / 2 + 0.94 * spring);
  return {base, side, side};
}

SectionCurve squeeze_plan(const SectionInput& input, int passes, double turn_deg,
                          const std::vector<double>& gaps_mm, double closed_gap_mm) {
  SectionCurve curve;
  SectionState state;
  for (int pass = 1; pass <= passes; ++pass) {
    const Squeeze squeeze(input, state, turn_deg * (pass - 1));
    std::vector<double> gaps = gaps_mm;
    for (double gap = squeeze.first_contact_mm(); gap > closed_gap_mm; gap -= 0.05) gaps.push_back(gap);
    gaps.push_back(closed_gap_mm);
    std::sort(gaps.begin(), gaps.end(), std::greater<>());
    gaps.erase(std::unique(gaps.begin(), gaps.end()), gaps.end());
    for (const double gap : gaps)
      if (gap >= closed_gap_mm)
        curve.points.push_back({pass, gap, squeeze.closing_force_n_per_mm(gap), squeeze.growth_at(gap)});
    state = squeeze.after(closed_gap_mm);
    const auto widths = widths_after_mm(input, state);
    curve.after.push_back(
        {pass, growth_after(input, state), *std::max_element(widths.begin(), widths.end())});
  }
  return curve;
}

}  // namespace shankwright::plant
