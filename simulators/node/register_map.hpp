#pragma once
#include <array>
#include <cstddef>
#include <cstdint>

/// The reference press map, version 1, as names: addresses, codes and bits that the simulated press node
/// serves. Written again here, apart from the station's own profile, so that the two agree only if both
/// follow the page.
namespace shankwright::node {

inline constexpr std::uint16_t map_version = 1;
inline constexpr std::uint8_t unit_id = 1;
inline constexpr std::size_t input_register_count = 100;
inline constexpr std::size_t holding_register_count = 10;
inline constexpr std::size_t samples_held_max = 25;
inline constexpr int sample_period_ms = 2;
inline constexpr int cycle_period_ms = 10;
inline constexpr int station_beat_period_ms_max = 250;
inline constexpr std::uint16_t gap_beyond_range = 65535;

using InputRegisters = std::array<std::uint16_t, input_register_count>;
using HoldingRegisters = std::array<std::uint16_t, holding_register_count>;

/// Input registers, zero-based protocol addresses.
namespace input {
enum Address : std::uint16_t {
  version = 0,
  node_beat = 1,
  phase = 2,
  fault_code = 3,
  status = 4,
  die_tag = 5,
  angle = 6,
  oil_temperature = 7,
  pressure = 8,
  gap = 9,
  edge_distance = 10,
  permit_echo = 11,
  permit_state = 12,
  bite_number = 13,
  stroke_total = 14,  ///< two registers, high word first
  peak_pressure = 16,
  dwell_done = 17,
  least_gap = 18,
  newest_sample = 19,
  sample_count = 20,
  sample_bite = 21,
  refusal = 22,
  samples = 25  ///< 25 rows of time, pressure, gap; the first sample_count of them are held, newest last
};
}

/// Holding registers, zero-based protocol addresses.
namespace holding {
enum Address : std::uint16_t {
  station_beat = 0,
  order = 1,
  order_token = 2,
  target_pressure = 3,
  pressure_limit = 4,
  dwell = 5,
  closed_gap = 6,
  stroke_timeout = 7,
  permit_life = 8,
  expected_die_tag = 9
};
}

enum class Phase : std::uint16_t { stopped, open, permitted, closing, holding, opening, faulted };

enum class Fault : std::uint16_t {
  none,
  emergency_stop,
  guard_opened,
  hands_released,
  over_pressure,
  station_beat_lost,
  stroke_timeout,
  pressure_sensor,
  gap_sensor,
  oil_temperature,
  permit_expired  ///< named by the map, never raised: the map also says that expiry is free of fault
};

enum class PermitState : std::uint16_t { none, taken, refused, used, withdrawn, expired };

enum class Refusal : std::uint16_t {
  not_refused,
  not_open,
  emergency_circuit,
  guard,
  local_control,
  fault_stands,
  die_tag,
  limits
};

enum class Order : std::uint16_t {
  none,
  permit_one_bite,
  withdraw_permit,
  open_dies,
  clear_fault,
  zero_pressure
};
inline constexpr std::uint16_t last_order = 5;

/// Bit numbers of the status register.
namespace status_bit {
enum Bit : unsigned {
  emergency_circuit_healthy = 0,
  guard_closed = 1,
  both_hands_on = 2,
  pump_running = 3,
  dies_home = 4,
  dies_closed = 5,
  shank_present = 6,
  mark_seen = 7,
  remote_selected = 8,
  mark_sensor_fitted = 9,
  angle_encoder_fitted = 10,
  position_sensor_fitted = 11
};
}

}  // namespace shankwright::node
