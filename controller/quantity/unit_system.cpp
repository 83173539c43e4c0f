#include "quantity/unit_system.hpp"

#include "quantity/quantity.hpp"

namespace shankwright::quantity {
namespace {

double mm_per_in() {
  static const double value = parse_length_mm("1 in").value();
  return value;
}
double kn_per_lbf() {
  static const double value = parse_force_kn("1 lbf").value();
  return value;
}
double bar_per_psi() {
  static const double value = parse_pressure_bar("1 psi").value();
  return value;
}

/// With `most` decimals, the last one left out where it is a nought.
std::string one_less_where_nought(double value, int most) {
  auto out = print(value, "", most);
  if (out.ends_with('0')) out.pop_back();
  return out;
}

}  // namespace

double length_in(double mm, UnitSystem units) {
  return units == UnitSystem::inch ? mm / mm_per_in() : mm;
}
double force_in(double kn, UnitSystem units) {
  return units == UnitSystem::inch ? kn / kn_per_lbf() : kn;
}
std::string length_unit(UnitSystem units) {
  return units == UnitSystem::inch ? "in" : "mm";
}
std::string force_unit(UnitSystem units) {
  return units == UnitSystem::inch ? "lbf" : "kN";
}
std::string length_number(double mm, UnitSystem units) {
  return units == UnitSystem::inch ? print(length_in(mm, units), "", 4) : one_less_where_nought(mm, 3);
}
std::string force_number(double kn, UnitSystem units) {
  return units == UnitSystem::inch ? print(force_in(kn, units), "", 0) : one_less_where_nought(kn, 2);
}
std::string length_text(double mm, UnitSystem units) {
  return length_number(mm, units) + " " + length_unit(units);
}
std::string force_text(double kn, UnitSystem units) {
  return force_number(kn, units) + " " + force_unit(units);
}
std::string pressure_text(double bar, UnitSystem units) {
  return units == UnitSystem::inch ? print(bar / bar_per_psi(), "psi", 0) : print(bar, "bar", 1);
}

}  // namespace shankwright::quantity
