#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>

/// Engineering values to register values: rounded to the nearest step and kept inside what the register can
/// say.
namespace shankwright::node {

/// 0.1 bar per step; below zero reads 0, a broken sensor reads 0 (the fault code says that it is broken).
[[nodiscard]] inline std::uint16_t tenths(double value) {
  if (!std::isfinite(value)) return 0;
  return static_cast<std::uint16_t>(std::lround(std::clamp(value * 10.0, 0.0, 65535.0)));
}

/// 0.001 mm per step; 65535 stands for beyond range and for a broken sensor.
[[nodiscard]] inline std::uint16_t micrometres(double mm) {
  if (std::isnan(mm)) return 65535;
  return static_cast<std::uint16_t>(std::lround(std::clamp(mm * 1000.0, 0.0, 65535.0)));
}

/// Signed 16-bit value of `steps_per_unit` steps, as its two's complement register.
[[nodiscard]] inline std::uint16_t signed_steps(double value, double steps_per_unit) {
  if (!std::isfinite(value)) return 0x8000;
  const long steps = std::lround(std::clamp(value * steps_per_unit, -32768.0, 32767.0));
  return static_cast<std::uint16_t>(static_cast<std::int16_t>(steps));
}

/// 0 to 3599 tenths of a degree, whatever turn the shank is in.
[[nodiscard]] inline std::uint16_t turn_tenths(double angle_deg) {
  if (!std::isfinite(angle_deg)) return 0;
  const double turn = angle_deg - 360.0 * std::floor(angle_deg / 360.0);
  return static_cast<std::uint16_t>(std::lround(turn * 10.0) % 3600);
}

}  // namespace shankwright::node
