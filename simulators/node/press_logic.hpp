#pragma once
#include <array>
#include <cstdint>
#include <span>

#include "simulators/node/register_map.hpp"

/// The press node's own logic, pure: no clock, no I/O, no threads; a small value that can be copied and
/// compared. The caller steps it: sample() every 2 ms of press time and cycle() after every fifth sample;
/// write() may come between.
///
/// Where the page is silent the choices made here are listed in simulators/README.md, "How the node reads the
/// map".
namespace shankwright::node {

/// What the press's contacts and sensors say at one 2 ms sample. Defaults are the unsafe reading.
struct Sensors {
  bool emergency_circuit_healthy = false;
  bool guard_closed = false;
  bool both_hands_on = false;  ///< output of the two-hand relay
  bool pump_running = false;
  bool dies_home = false;  ///< the switch at the end of the opening stroke
  bool remote_selected = false;
  bool shank_present = false;
  bool mark_seen = false;
  bool sampler_alive = true;  ///< false: the sampling card lost this sample; its sequence number is skipped
  std::uint16_t die_tag = 0;
  double pressure_bar = 0;  ///< not a number when the sensor is broken
  double gap_mm = 1e9;      ///< not a number when broken; anything above 65.534 is beyond range
  double oil_temperature_c = 20;
  double angle_deg = 0;
  double edge_distance_mm = 0;

  bool operator==(const Sensors&) const = default;
};

/// What the node was built for. A permit whose limits leave these is refused; a target above the node's own
/// maximum is an illegal value.
struct NodeSettings {
  double target_bar_max = 700;
  double limit_bar_max = 735;         ///< also trips fault 4 by itself, whatever the permit said
  double pressure_sensor_bar = 1000;  ///< range of the sensor: a reading beyond it is fault 7
  double gap_mm_most = 60;            ///< more than the press can open: a reading beyond it is fault 8
  std::uint16_t dwell_ms_max = 30000;
  std::uint16_t closed_gap_um_max = 5000;
  std::uint16_t stroke_timeout_ms_max = 60000;
  std::uint16_t permit_life_ms_max = 60000;
  int opening_timeout_ms = 20000;  ///< dies not home within this after a bite: fault 6
  double oil_c_least = 0;
  double oil_c_most = 70;
  std::uint16_t home_gap_um_least = 1000;  ///< a smaller gap with the home switch made is a broken gap sensor
  double zero_bar_most = 10;               ///< pressure is never zeroed away beyond this
  bool mark_sensor_fitted = true;
  bool angle_encoder_fitted = true;
  bool position_sensor_fitted = true;
  std::uint32_t strokes_before = 0;  ///< strokes in the press's life before this power-on
  std::uint16_t bites_before = 0;    ///< 0 at power-on; other values let the wrap be tried

  bool operator==(const NodeSettings&) const = default;
};

/// What the node asks of the valves for the next 2 ms.
enum class Drive : std::uint8_t {
  rest,   ///< valves shut, nothing moves
  close,  ///< oil to the closing side; the servo valve keeps the target pressure once there
  open    ///< closing side to tank, dies go home
};

class PressLogic {
 public:
  explicit PressLogic(const NodeSettings& settings = {});

  /// One 2 ms sample. The answer holds until the next sample; `close` is given only while both hands are on,
  /// a permit stands, and nothing is wrong at that very sample.
  [[nodiscard]] Drive sample(const Sensors& sensors);

  /// The end of a 10 ms node cycle: beat, station watchdog.
  void cycle();

  /// True when these values may stand at these holding registers. `address` + size must lie within the table.
  [[nodiscard]] bool legal(std::uint16_t address, std::span<const std::uint16_t> values) const;

  /// Takes a legal write, and acts on the order at once when the token changes to a non-zero value. Returns
  /// false and takes nothing when a value is illegal.
  [[nodiscard]] bool write(std::uint16_t address, std::span<const std::uint16_t> values);

  [[nodiscard]] InputRegisters input_registers() const;
  [[nodiscard]] const HoldingRegisters& holding_registers() const { return holding_; }

  [[nodiscard]] Phase phase() const { return phase_; }
  [[nodiscard]] Fault fault() const { return fault_; }
  [[nodiscard]] PermitState permit_state() const { return permit_state_; }
  [[nodiscard]] Refusal refusal() const { return refusal_; }
  [[nodiscard]] std::uint16_t bite_number() const { return bite_number_; }
  [[nodiscard]] bool bite_runs() const { return bite_runs_; }
  /// What the servo valve is to settle at while Drive::close is asked for.
  [[nodiscard]] double target_bar() const { return limits_.target / 10.0; }
  /// Grows when the pressure transmitter is to take what it reads now as zero.
  [[nodiscard]] std::uint32_t zeroings() const { return zeroings_; }

  bool operator==(const PressLogic&) const = default;

 private:
  struct SampleRow {
    std::uint16_t time_ms = 0, pressure = 0, gap = 0;
    bool operator==(const SampleRow&) const = default;
  };
  /// The parameters of a permit, frozen when it is taken; raw register values.
  struct Limits {
    std::uint16_t target = 0, limit = 0, dwell_ms = 0, closed_gap = 0, timeout_ms = 0, life_ms = 0,
                  die_tag = 0;
    bool operator==(const Limits&) const = default;
  };

  void act_on_order();
  void take_or_refuse_permit();
  [[nodiscard]] Refusal why_refused(const Limits& asked) const;
  [[nodiscard]] bool limits_within_own(const Limits& asked) const;
  void withdraw();
  void clear_fault();
  void zero_pressure();

  [[nodiscard]] Fault standing_cause() const;
  void raise(Fault fault);
  void check_for_faults();
  void check_conditions_of_the_permit();
  void begin_bite();
  void step_phase();
  void take_sample();
  void finish_bite();
  [[nodiscard]] Drive drive() const;
  [[nodiscard]] bool permit_stands() const { return permit_state_ == PermitState::taken; }

  NodeSettings settings_;
  Sensors sensors_;
  HoldingRegisters holding_{};

  Phase phase_ = Phase::stopped;
  Fault fault_ = Fault::none;
  PermitState permit_state_ = PermitState::none;
  Refusal refusal_ = Refusal::not_refused;
  std::uint16_t permit_echo_ = 0;
  Limits limits_;
  int permit_age_ms_ = 0;
  int station_silent_ms_ = 0;
  bool hands_were_off_ = false;  ///< since the permit was taken: a press of both buttons is fresh
  bool opening_by_hand_ =
      false;  ///< order 3 with the dies away from home and no bite: opens while both hands are on

  bool bite_runs_ = false;
  int bite_ms_ = 0;
  int opening_ms_ = 0;
  int dwell_ms_ = 0;
  std::uint16_t pressure_ = 0;  ///< newest, zeroed, register units
  std::uint16_t gap_ = gap_beyond_range;
  std::uint16_t peak_pressure_ = 0;
  std::uint16_t least_gap_ = gap_beyond_range;

  std::array<SampleRow, samples_held_max> rows_{};  ///< the first sample_count_ of them, newest last
  std::uint16_t sample_count_ = 0;
  std::uint16_t next_sequence_ = 0;
  std::uint16_t newest_sample_ = 0;
  std::uint16_t sample_bite_ = 0;

  std::uint16_t bite_number_ = 0;
  std::uint32_t stroke_total_ = 0;
  std::uint16_t beat_ = 0;
  std::uint32_t zeroings_ = 0;
};

}  // namespace shankwright::node
