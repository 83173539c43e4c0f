#pragma once
#include <array>
#include <initializer_list>
#include <vector>

#include "simulators/node/press_logic.hpp"

/// A bare-bones press for the node's logic to run: no oil, no part, straight lines. The logic cannot tell.
namespace shankwright::node::testing {

struct IdealPress {
  double gap_mm = 12;
  double pressure_bar = 0;
  [[nodiscard]] bool home() const { return gap_mm >= 11.95; }
  void step(Drive drive, double target_bar) {
    if (drive == Drive::close) {
      gap_mm -= 0.1;
      if (gap_mm <= 0) {
        gap_mm = 0;
        pressure_bar = pressure_bar + 8 < target_bar + 4 ? pressure_bar + 8 : target_bar + 4;
      }
    } else if (drive == Drive::open) {
      pressure_bar = pressure_bar > 40 ? pressure_bar - 40 : 0;
      gap_mm = gap_mm + 0.2 < 12 ? gap_mm + 0.2 : 12;
    }
  }
};

/// Registers 1 to 9 of a permit every press takes.
struct PermitWords {
  std::uint16_t target = 5000, limit = 6000, dwell = 100, closed_gap = 50, timeout = 5000, life = 3000,
                die_tag = 101;
};

class Rig {
 public:
  explicit Rig(const NodeSettings& settings = {}) : logic(settings) {
    at.emergency_circuit_healthy = at.guard_closed = at.pump_running = at.remote_selected = true;
    at.die_tag = 101;
    sample();
  }

  /// 2 ms.
  void sample() {
    at.dies_home = press.home();
    at.gap_mm = press.gap_mm;
    at.pressure_bar = press.pressure_bar;
    Sensors told = at;
    if (tamper != nullptr) tamper(told);
    drive = logic.sample(told);
    seen = logic.input_registers();
    press.step(drive, logic.target_bar());
  }
  /// 10 ms; the station beats unless it is told to be silent.
  void cycle() {
    if (station_beats) write(holding::station_beat, {++beat});
    for (int i = 0; i < 5; ++i) sample();
    logic.cycle();
  }
  void run_ms(int ms) {
    for (int i = 0; i < ms / cycle_period_ms; ++i) cycle();
  }
  /// Cycles until `phase`; false when it does not come within ten seconds.
  [[nodiscard]] bool run_until(Phase phase) {
    for (int i = 0; i < 1000 && logic.phase() != phase; ++i) cycle();
    return logic.phase() == phase;
  }

  bool write(std::uint16_t address, std::initializer_list<std::uint16_t> values) {
    return logic.write(address, std::vector<std::uint16_t>(values));
  }
  bool order(Order kind, const PermitWords& words = {}) {
    ++token;
    if (token == 0) ++token;
    return write(holding::order, {static_cast<std::uint16_t>(kind), token, words.target, words.limit,
                                  words.dwell, words.closed_gap, words.timeout, words.life, words.die_tag});
  }
  [[nodiscard]] std::uint16_t reg(std::size_t address) const { return logic.input_registers()[address]; }

  PressLogic logic;
  IdealPress press;
  Sensors at;
  Drive drive = Drive::rest;
  InputRegisters seen{};               ///< as they stood when `drive` was decided
  void (*tamper)(Sensors&) = nullptr;  ///< last word on what the sensors say
  bool station_beats = true;
  std::uint16_t beat = 0;
  std::uint16_t token = 0;
};

}  // namespace shankwright::node::testing
