#pragma once
#include <string>

/// Quantities as a paper shows them, in millimetres and kilonewtons or in inches and pounds-force. The
/// factors are those that quantity.hpp reads with.
namespace shankwright::quantity {

enum class UnitSystem { metric, inch };

/// "7.95 mm" (two or three decimals), "0.3130 in"
[[nodiscard]] std::string length_text(double mm, UnitSystem units);
/// "431.55 kN" (one or two decimals), "97016 lbf"
[[nodiscard]] std::string force_text(double kn, UnitSystem units);
/// "205.5 bar", "2981 psi"
[[nodiscard]] std::string pressure_text(double bar, UnitSystem units);

/// The bare numbers, for charts and lists that name the unit once.
[[nodiscard]] double length_in(double mm, UnitSystem units);
[[nodiscard]] double force_in(double kn, UnitSystem units);
[[nodiscard]] std::string length_number(double mm, UnitSystem units);
[[nodiscard]] std::string force_number(double kn, UnitSystem units);
[[nodiscard]] std::string length_unit(UnitSystem units);  ///< "mm", "in"
[[nodiscard]] std::string force_unit(UnitSystem units);   ///< "kN", "lbf"

}  // namespace shankwright::quantity
