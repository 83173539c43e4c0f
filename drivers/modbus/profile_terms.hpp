#pragma once
#include <array>
#include <map>
#include <string>

#include "drivers/modbus/profile.hpp"

/// The words a profile is written in: signals, parts of an order, status bits and units.
namespace shankwright::modbus {

enum class Dimension : std::uint8_t { number, angle, temperature, pressure, length, time };

struct Named {
  const char* name;
  Dimension dimension;
};

inline constexpr std::array<Named, signal_count> signal_names{{
    {"map_version", Dimension::number},   {"node_beat", Dimension::number},
    {"phase", Dimension::number},         {"fault_code", Dimension::number},
    {"status", Dimension::number},        {"die_tag", Dimension::number},
    {"angle", Dimension::angle},          {"oil_temperature", Dimension::temperature},
    {"pressure", Dimension::pressure},    {"gap", Dimension::length},
    {"edge_distance", Dimension::length}, {"permit_echo", Dimension::number},
    {"permit_state", Dimension::number},  {"bite_number", Dimension::number},
    {"stroke_total", Dimension::number},  {"peak_pressure", Dimension::pressure},
    {"dwell_done", Dimension::time},      {"least_gap", Dimension::length},
    {"newest_sample", Dimension::number}, {"sample_count", Dimension::number},
    {"sample_bite", Dimension::number},   {"refusal", Dimension::number},
}};

inline constexpr std::array<Named, order_field_count> order_names{{
    {"order", Dimension::number},
    {"order_token", Dimension::number},
    {"target_pressure", Dimension::pressure},
    {"pressure_limit", Dimension::pressure},
    {"dwell", Dimension::time},
    {"closed_gap", Dimension::length},
    {"stroke_timeout", Dimension::time},
    {"permit_life", Dimension::time},
    {"expected_die_tag", Dimension::number},
}};

inline constexpr std::array<const char*, status_bit_count> status_bit_names{"emergency_circuit_healthy",
                                                                            "guard_closed",
                                                                            "both_hands_on",
                                                                            "pump_running",
                                                                            "dies_home",
                                                                            "dies_closed",
                                                                            "shank_present",
                                                                            "mark_seen",
                                                                            "remote_selected",
                                                                            "mark_sensor_fitted",
                                                                            "angle_encoder_fitted",
                                                                            "position_sensor_fitted"};

/// Units a profile may use for a dimension, as a factor to the driver's own (deg, degC, bar, mm, ms).
[[nodiscard]] const std::map<std::string, double>& units(Dimension dimension);

}  // namespace shankwright::modbus
