#include "mechanics/materials.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace shankwright::mechanics {
namespace {

constexpr double rope_wire_stress_mpa = 1650;
/// Beyond this share of metal the law is carried on along its tangent: no wire bundle is denser, and a bore
/// that closes on itself must not meet an infinite pressure.
constexpr double densest_packing = 0.995;

}  // namespace

double FlowStress::stress_mpa(double plastic_strain) const {
  const double offset = std::pow(yield_mpa / strength_mpa, 1 / hardening);
  return strength_mpa * std::pow(offset + plastic_strain, hardening);
}

double FlowStress::slope_mpa(double plastic_strain) const {
  const double offset = std::pow(yield_mpa / strength_mpa, 1 / hardening);
  return hardening * strength_mpa * std::pow(offset + plastic_strain, hardening - 1);
}

double RopeCore::packing() const {
  return 4 * metal_area_factor / std::numbers::pi;
}

std::array<double, 2> RopeCore::pressure_mpa(double radius_mm) const {
  const double nominal_radius_mm = diameter_mm / 2;
  if (radius_mm >= nominal_radius_mm) return {0, 0};
  const double loose = packing();
  const double scale_mpa = rope_wire_stress_mpa / std::numbers::sqrt3;
  const double densest_radius_mm = nominal_radius_mm * std::sqrt(loose / densest_packing);
  const double at_mm = std::max(radius_mm, densest_radius_mm);
  const double share = loose * (nominal_radius_mm / at_mm) * (nominal_radius_mm / at_mm);
  const double slope = -scale_mpa / (1 - share) * 2 * share / at_mm;
  return {scale_mpa * std::log((1 - loose) / (1 - share)) + slope * (radius_mm - at_mm), slope};
}

RopeCore::Axial RopeCore::axial(double log_stretch, double plastic_stretch_before) {
  constexpr double modulus_mpa = 170000;
  constexpr std::array<std::array<double, 2>, 5> yield{
      {{0, 1500}, {0.02, 1650}, {0.05, 1740}, {0.1, 1800}, {4, 1805}}};
  const double trial = modulus_mpa * (log_stretch - plastic_stretch_before);
  const double sign = trial < 0 ? -1 : 1;
  const double before = std::abs(plastic_stretch_before);
  for (std::size_t i = 0; i + 1 < yield.size(); ++i) {
    const double slope = (yield[i + 1][1] - yield[i][1]) / (yield[i + 1][0] - yield[i][0]);
    const double increment =
        (std::abs(trial) - yield[i][1] - slope * (before - yield[i][0])) / (modulus_mpa + slope);
    if (before + increment > yield[i + 1][0]) continue;
    if (increment <= 0) break;
    return {trial - sign * modulus_mpa * increment, modulus_mpa * slope / (modulus_mpa + slope),
            plastic_stretch_before + sign * increment};
  }
  return {trial, modulus_mpa, plastic_stretch_before};
}

}  // namespace shankwright::mechanics
