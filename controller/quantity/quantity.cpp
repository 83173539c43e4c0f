#include "quantity/quantity.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <span>

#include "quantity/as_written.hpp"

namespace shankwright::quantity {
namespace {

/// value * times / over + plus gives the inside unit. Two whole numbers in place of one factor, so that "9.81
/// N" is exactly 9.81 / 1000 kN and not 9.81 * 0.001.
struct Unit {
  std::string_view name;
  double times = 1;
  double over = 1;
  double plus = 0;
};

struct Dimension {
  std::string_view name;     ///< "a length"
  std::string_view example;  ///< "7.95 mm"
  std::span<const Unit> units;
};

// Exact definitions: inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2 (NIST SP 811, Appendix
// B).
constexpr double pound_force_n = 0.45359237 * 9.80665;
constexpr double psi_pa = pound_force_n / (0.0254 * 0.0254);
constexpr double degrees_per_radian = 57.295779513082320877;

constexpr std::array length_units{Unit{"mm"},          Unit{"cm", 10},   Unit{"m", 1000},
                                  Unit{"um", 1, 1000}, Unit{"in", 25.4}, Unit{"mil", 25.4, 1000}};
constexpr std::array force_units{Unit{"N", 1, 1000},         Unit{"kN"},
                                 Unit{"MN", 1000},           Unit{"kgf", 9.80665, 1000},
                                 Unit{"tonnef", 9.80665},    Unit{"lbf", pound_force_n, 1000},
                                 Unit{"kip", pound_force_n}, Unit{"tonf", 2 * pound_force_n}};
constexpr std::array pressure_units{Unit{"bar"}, Unit{"Pa", 1, 1e5}, Unit{"kPa", 1, 100}, Unit{"MPa", 10},
                                    Unit{"psi", psi_pa, 1e5}};
constexpr std::array stress_units{Unit{"MPa"},          Unit{"GPa", 1000},  Unit{"Pa", 1, 1e6},
                                  Unit{"kPa", 1, 1000}, Unit{"bar", 1, 10}, Unit{"psi", psi_pa, 1e6}};
constexpr std::array angle_units{Unit{"deg"}, Unit{"rad", degrees_per_radian}};
constexpr std::array duration_units{Unit{"ms"}, Unit{"s", 1000}, Unit{"min", 60e3}, Unit{"h", 3600e3}};
constexpr std::array temperature_units{Unit{"degC"}, Unit{"degF", 5, 9, -160.0 / 9}};
constexpr std::array area_units{Unit{"mm2"}, Unit{"cm2", 100}, Unit{"in2", 25.4 * 25.4}};
constexpr std::array fraction_units{Unit{"%", 1, 100}};

constexpr Dimension length{"a length", "7.95 mm", length_units};
constexpr Dimension force{"a force", "520 kN", force_units};
constexpr Dimension pressure{"a pressure", "350 bar", pressure_units};
constexpr Dimension stress{"a stress", "240 MPa", stress_units};
constexpr Dimension angle{"an angle", "90 deg", angle_units};
constexpr Dimension duration{"a duration", "2 s", duration_units};
constexpr Dimension temperature{"a temperature", "45 degC", temperature_units};
constexpr Dimension area{"an area", "210 cm2", area_units};
constexpr Dimension fraction{"a percentage", "12 %", fraction_units};
constexpr std::array all_dimensions{length, force, pressure, angle, duration, temperature, area, fraction};

bool is_space(char c) {
  return c == ' ' || c == '\t';
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

const Unit* find_unit(const Dimension& dimension, std::string_view name) {
  for (const Unit& unit : dimension.units) {
    if (unit.name == name) return &unit;
  }
  return nullptr;
}

std::string unit_names(const Dimension& dimension) {
  std::string out;
  for (const Unit& unit : dimension.units) out += (out.empty() ? "" : ", ") + std::string(unit.name);
  return out;
}

std::string example_of(const Dimension& dimension) {
  return ", for example \"" + std::string(dimension.example) + "\"";
}

Problem refuse(std::string_view text, std::string expected) {
  return {"", as_written(text), std::move(expected)};
}

std::string with_units(const Dimension& dimension) {
  return std::string(dimension.name) + " in " + unit_names(dimension) + example_of(dimension);
}

/// Takes a run of decimal digits off the front.
std::optional<double> take_whole_number(std::string_view& rest) {
  std::size_t digits = 0;
  while (digits < rest.size() && is_digit(rest[digits])) ++digits;
  if (digits == 0 || digits > 9) return std::nullopt;
  double value = 0;
  for (const char c : rest.substr(0, digits)) value = 10 * value + (c - '0');
  rest.remove_prefix(digits);
  return value;
}

struct Number {
  double value = 0;
  bool is_fraction = false;  ///< written with a stroke
};

/// "5/16" or "1 1/8" off the front; leaves `rest` alone when it is neither.
std::optional<Number> take_stroke_fraction(std::string_view& rest) {
  std::string_view ahead = rest;
  double whole = 0;
  auto first = take_whole_number(ahead);
  if (!first) return std::nullopt;
  if (!ahead.empty() && is_space(ahead.front())) {
    while (!ahead.empty() && is_space(ahead.front())) ahead.remove_prefix(1);
    whole = *first;
    first = take_whole_number(ahead);
    if (!first) return std::nullopt;
  }
  if (ahead.empty() || ahead.front() != '/') return std::nullopt;
  ahead.remove_prefix(1);
  const auto denominator = take_whole_number(ahead);
  if (!denominator || *denominator == 0) return std::nullopt;
  rest = ahead;
  return Number{whole + *first / *denominator, true};
}

/// A number in plain decimal notation with a point, off the front. from_chars knows no locale, so a comma
/// never counts.
std::optional<Number> take_decimal(std::string_view& rest) {
  if (rest.empty() || !(is_digit(rest.front()) || rest.front() == '.'))
    return std::nullopt;  // no "inf", no "nan"
  double value = 0;
  const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
  if (error != std::errc{}) return std::nullopt;
  rest.remove_prefix(static_cast<std::size_t>(end - rest.data()));
  return Number{value, false};
}

Problem refuse_unit(std::string_view text, std::string_view unit, const Dimension& dimension) {
  if (unit.front() == ',') {
    return refuse(text, std::string(dimension.name) + " with a decimal point and no separators" +
                            example_of(dimension));
  }
  // An inch mark is refused on purpose: YAML, JSON and the shell all eat it, and what is left is a bare
  // number.
  if (dimension.units.data() == length.units.data() &&
      (unit == "\"" || unit == "''" || unit == "”" || unit == "″")) {
    return refuse(text, "a length with \"in\" in place of the inch mark, for example \"0.313 in\"");
  }
  for (const Dimension& other : all_dimensions) {
    if (find_unit(other, unit) != nullptr) {
      return refuse(text, with_units(dimension) + "; \"" + std::string(unit) + "\" belongs to " +
                              std::string(other.name));
    }
  }
  return refuse(text, with_units(dimension));
}

Result<double> parse(std::string_view text, const Dimension& dimension) {
  std::string_view rest = trimmed(text);
  const bool negative = !rest.empty() && rest.front() == '-';
  if (negative || (!rest.empty() && rest.front() == '+')) rest.remove_prefix(1);
  auto number = take_stroke_fraction(rest);
  if (!number) number = take_decimal(rest);
  if (!number) return refuse(text, with_units(dimension));
  rest = trimmed(rest);
  if (rest.empty())
    return refuse(text, std::string(dimension.name) + " with its unit" + example_of(dimension));
  const Unit* unit = find_unit(dimension, rest);
  if (unit == nullptr) return refuse_unit(text, rest, dimension);
  if (number->is_fraction && unit->name != "in") {
    return refuse(text, std::string(dimension.name) +
                            " with a decimal point (fractions go with \"in\" only)" + example_of(dimension));
  }
  const double value = (negative ? -number->value : number->value) * unit->times / unit->over + unit->plus;
  if (!std::isfinite(value)) return refuse(text, with_units(dimension));
  return value;
}

}  // namespace

Result<double> parse_length_mm(std::string_view text) {
  return parse(text, length);
}
Result<double> parse_force_kn(std::string_view text) {
  return parse(text, force);
}
Result<double> parse_pressure_bar(std::string_view text) {
  return parse(text, pressure);
}
Result<double> parse_stress_mpa(std::string_view text) {
  return parse(text, stress);
}
Result<double> parse_angle_deg(std::string_view text) {
  return parse(text, angle);
}
Result<double> parse_duration_ms(std::string_view text) {
  return parse(text, duration);
}
Result<double> parse_temperature_c(std::string_view text) {
  return parse(text, temperature);
}
Result<double> parse_area_mm2(std::string_view text) {
  return parse(text, area);
}
Result<double> parse_fraction(std::string_view text) {
  return parse(text, fraction);
}

std::string print(double value, std::string_view unit, int decimals) {
  std::array<char, 400> buffer{};  // the longest double in fixed notation has 309 digits before the point
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed,
                    decimals < 0 ? 0 : (decimals > 60 ? 60 : decimals));
  std::string number(buffer.data(), error == std::errc{} ? end : buffer.data());
  // "-0.00" says nothing that "0.00" does not.
  if (number.starts_with('-') && number.find_first_not_of("-0.") == std::string::npos) number.erase(0, 1);
  return unit.empty() ? number : number + " " + std::string(unit);
}

}  // namespace shankwright::quantity
