#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "prediction/part.hpp"

/// What differs from one simulated fitting to the next: the part (prediction::Input) and the press and
/// instruments that squeeze and measure it.
namespace shankwright::trial {

enum class PressInput : std::uint8_t {
  pressure_sensor,  ///< reads this share too much, 1
  seal_friction,    ///< share of pressure times area that does not reach the dies, 1
  overshoot,        ///< peak pressure over target when the pump stops, 1
  gap_sensor,       ///< reads this much too wide, mm
  size_gauge,       ///< across flats read this much too wide, mm
};
inline constexpr std::size_t press_input_count = 5;
inline constexpr std::size_t scatter_count = prediction::input_count + press_input_count;

/// By prediction::Input first, by PressInput after them.
using Scatters = std::array<prediction::Scatter, scatter_count>;
using Values = std::array<double, scatter_count>;
[[nodiscard]] constexpr std::size_t index_of(PressInput input) {
  return prediction::input_count + static_cast<std::size_t>(input);
}

/// The recipe's press and gauges beside a population of parts. Assumptions of ours, no source; a shop
/// replaces them by what its calibration finds: pressure sensor within 0.5 % (three standard deviations),
/// seal friction 0.5 to 2.5 % of the force, overshoot 0 to 1.5 %, gap sensor within 0.01 mm, across-flats
/// gauge with the expanded uncertainty (coverage factor 2) of the best caliper or micrometer the recipe
/// allows.
[[nodiscard]] Scatters scatters_of(const recipe::JoinedRecipe& joined, const prediction::Population& parts);

/// Expanded uncertainty of that gauge, mm; 0 when the recipe allows none.
[[nodiscard]] double size_uncertainty_mm(const recipe::JoinedRecipe& joined);

/// The value below which a share `unit` (0 to 1) of all fittings lie. A normal one is cut off at half_width,
/// three standard deviations, so its standard deviation is 0.9866 of a third of it.
[[nodiscard]] double value_at(const prediction::Scatter& scatter, double unit);

/// All values of one fitting, and the evenly spread numbers they came from.
struct Drawn {
  Values values{};
  std::array<double, scatter_count> units{};
  [[nodiscard]] prediction::Part part() const;
  [[nodiscard]] double operator[](PressInput input) const { return values[index_of(input)]; }
};
[[nodiscard]] Drawn draw(const Scatters& scatters, std::uint64_t seed, std::uint64_t fitting);

/// "shank diameter", "seal friction": for people.
[[nodiscard]] std::string_view name_of(std::size_t scatter);
/// "shank_diameter": for programs.
[[nodiscard]] std::string_view key_of(std::size_t scatter);
/// Unit in which people read it; "%" where the value inside is a share of 1.
[[nodiscard]] std::string_view unit_of(std::size_t scatter);
/// What a technician can do about it, as a command: "buy or turn shanks to a closer diameter".
[[nodiscard]] std::string_view remedy_of(std::size_t scatter);

}  // namespace shankwright::trial
