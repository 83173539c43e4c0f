#pragma once

/// A round thick wall under pressure, in closed form: what a die body does when a bite presses on its cavity,
/// and what a shank's own limits are. Lengths mm, stresses MPa, plane strain where the axis matters.
namespace shankwright::mechanics {

/// Lame: how much the bore of an elastic tube with free ends (no axial force) widens on the diameter under
/// this pressure. u = p a / E ((b^2 + a^2) / (b^2 - a^2) + nu), on the radius a (Timoshenko, Strength of
/// Materials, part II, value from memory).
[[nodiscard]] double elastic_widening_mm(double bore_mm, double outer_diameter_mm, double pressure_mpa,
                                         double young_mpa, double poisson);

/// Pressure in the bore at which the wall first yields (von Mises, free ends) and at which it is plastic
/// throughout (Nadai: p = 2/sqrt 3 yield ln(b/a), non-hardening, plane strain; value from memory).
[[nodiscard]] double first_yield_pressure_mpa(double bore_mm, double outer_diameter_mm, double yield_mpa);
[[nodiscard]] double plastic_pressure_mpa(double bore_mm, double outer_diameter_mm, double yield_mpa);

}  // namespace shankwright::mechanics
