#pragma once
#include <string>
#include <string_view>

#include "quantity/result.hpp"

/// Quantities carry their unit wherever people or other programs write them ("7.95 mm", "0.313 in", "520 kN",
/// "58 tonf", "350 bar"); inside, one unit per dimension, named in the variable. A bare number is a Problem,
/// and so is a unit of another dimension, a value that is not finite, or anything after the unit. The space
/// before the unit may be left out; a sign may lead. Unit names mind their case (mPa is not MPa). A decimal
/// comma is refused, since "1,125" means two things; so is the inch mark, which YAML, JSON and the shell all
/// take for themselves. Fractions
/// ("5/16 in", "1 1/8 in") go with inches only.
/// Factors: NIST SP 811, Appendix B.9, from the exact definitions of inch, pound and standard gravity.
namespace shankwright::quantity {

[[nodiscard]] Result<double> parse_length_mm(
    std::string_view text);  ///< mm, cm, m, um, in, fractions "5/16 in", mil
[[nodiscard]] Result<double> parse_force_kn(
    std::string_view text);  ///< N, kN, MN, kgf, tonnef (1000 kgf), lbf, kip, tonf (2000 lbf)
[[nodiscard]] Result<double> parse_pressure_bar(std::string_view text);   ///< bar, Pa, kPa, MPa, psi
[[nodiscard]] Result<double> parse_stress_mpa(std::string_view text);     ///< as pressure and GPa, in MPa
[[nodiscard]] Result<double> parse_angle_deg(std::string_view text);      ///< deg, rad
[[nodiscard]] Result<double> parse_duration_ms(std::string_view text);    ///< ms, s, min, h
[[nodiscard]] Result<double> parse_temperature_c(std::string_view text);  ///< degC, degF
[[nodiscard]] Result<double> parse_area_mm2(std::string_view text);       ///< mm2, cm2, in2
[[nodiscard]] Result<double> parse_fraction(
    std::string_view text);  ///< "12 %" -> 0.12; a bare number is a Problem

/// What people read, with the unit: "7.95 mm". Decimals as asked, trailing zeros kept.
[[nodiscard]] std::string print(double value, std::string_view unit, int decimals);

}  // namespace shankwright::quantity
