#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "drivers/modbus/profile.hpp"
#include "ports/ports.hpp"

/// Registers to engineering units and back. Pure: no clock, no network.
namespace shankwright::modbus {

/// One sample as the press holds it; time still wraps.
struct RawSample {
  std::uint16_t time_ms = 0;
  double pressure_bar = 0;
  double gap_mm = 0;
  bool operator==(const RawSample&) const = default;
};

/// The sample registers of one scan.
struct HeldSamples {
  std::uint16_t bite = 0;
  std::uint16_t newest = 0;        ///< sequence number of the last element
  std::vector<RawSample> samples;  ///< oldest first
};

/// Decodes what one read of profile.read_window brought. Fills the values of `scan` (not number, time, link,
/// samples) and `held`. Returns a Problem when a register holds what the profile does not allow; `scan` and
/// `held` are then half filled and must not be used. `window` has profile.read_window.count registers.
[[nodiscard]] std::optional<Problem> decode(const Profile& profile, std::span<const std::uint16_t> window,
                                            ports::PressScan& scan, HeldSamples& held);

/// The map version alone, to be looked at before anything else is believed.
[[nodiscard]] std::uint16_t decode_map_version(const Profile& profile, std::span<const std::uint16_t> window);

/// Registers of profile.order_window for one order. Values are rounded to the nearest count; a value that
/// does not fit its register, is not finite or is negative where the register is unsigned is a Problem, never
/// wrapped.
[[nodiscard]] Result<std::vector<std::uint16_t>> encode(const Profile& profile,
                                                        const ports::PressOrder& order);

/// The counts of one field inside `window`, sign extended; the inverse of put_counts.
[[nodiscard]] std::int64_t get_counts(const Field& field, std::span<const std::uint16_t> window,
                                      std::size_t index);
/// Writes counts that fit the field's type.
void put_counts(const Field& field, std::span<std::uint16_t> window, std::size_t index, std::int64_t counts);
/// Least and most counts of a type.
[[nodiscard]] std::pair<std::int64_t, std::int64_t> range_of(RegisterType type);

}  // namespace shankwright::modbus
