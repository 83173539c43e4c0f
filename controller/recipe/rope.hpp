#pragma once
#include "recipe/model.hpp"

/// What a rope's factors say (EN 12385-4 wording, as a rope supplier quotes it): metal area C d^2, breaking
/// force d^2 Rr K / 1000, mass W d^2 kg per 100 m, all with the nominal diameter d in mm.
namespace shankwright::recipe {

[[nodiscard]] inline double metallic_area_mm2(double diameter_mm, double metallic_area_factor) {
  return metallic_area_factor * diameter_mm * diameter_mm;
}
[[nodiscard]] inline double metallic_area_mm2(const Rope& rope) {
  return metallic_area_mm2(rope.nominal_diameter_mm, rope.metallic_area_factor);
}

[[nodiscard]] inline double breaking_force_kn(double diameter_mm, double rope_grade_mpa,
                                              double breaking_force_factor) {
  return diameter_mm * diameter_mm * rope_grade_mpa * breaking_force_factor / 1000;
}

[[nodiscard]] inline double mass_kg_per_m(double diameter_mm, double mass_factor) {
  return mass_factor * diameter_mm * diameter_mm / 100;
}

}  // namespace shankwright::recipe
