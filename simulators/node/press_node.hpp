#pragma once
#include <cstdint>
#include <mutex>
#include <optional>
#include <vector>

#include "simulators/bench/bench.hpp"
#include "simulators/node/fault_plan.hpp"
#include "simulators/node/modbus_pdu.hpp"
#include "simulators/node/press_logic.hpp"
#include "simulators/plant/plant.hpp"

namespace shankwright::node {

/// What the person at the press does to it, apart from the part.
struct Contacts {
  bool both_hands_on = false;
  bool guard_closed = true;
  bool emergency_circuit_healthy = true;
  bool remote_selected = true;
};

/// Everything a bench page shows of the press, at one instant.
struct PressView {
  Contacts contacts;
  Phase phase = Phase::stopped;
  Fault fault = Fault::none;
  PermitState permit_state = PermitState::none;
  std::uint16_t bite_number = 0;
  std::uint16_t die_tag = 0;
  bool dies_home = false, bite_runs = false, shank_present = false;
  double pressure_bar = 0, gap_mm = 0, force_kn = 0, oil_temperature_c = 0;  ///< the truth, not the sensors
  double edge_mm = 0, angle_deg = 0;
  std::int64_t press_time_ms = 0;
  std::vector<FaultWindow> faults;  ///< those on now
};

/// A simulated press: plant, sensors, bench and the node's logic, one node cycle at a time. Time passes only
/// in cycle(); from one seed the same calls give the same registers. All calls from any thread, each one
/// instant.
class PressNode final : public RegisterBank {
 public:
  PressNode(const NodeSettings& settings, const plant::PressTruth& truth, std::uint64_t seed,
            std::vector<FaultWindow> faults = {});

  void cycle();  ///< 10 ms of press time

  [[nodiscard]] InputRegisters read_input_registers() override;
  [[nodiscard]] HoldingRegisters read_holding_registers() override;
  [[nodiscard]] bool write_holding_registers(std::uint16_t address,
                                             std::span<const std::uint16_t> values) override;

  [[nodiscard]] PressView view();
  [[nodiscard]] const LinkFaultSwitch& link_faults() const { return link_faults_; }

  template <typename Act>
  void change_contacts(Act&& act) {
    const std::scoped_lock lock(mutex_);
    act(contacts_);
  }
  /// Puts a fault in from now on, for `length_ms` or for good; the same kind set before is replaced.
  void set_fault(FaultKind kind, double value, std::int64_t length_ms = no_end_ms);
  void clear_faults();  ///< those on now and those still to come

  /// The bench, for the length of the call. `act` may change it only while no bite runs: see bite_runs.
  template <typename Act>
  auto with_bench(Act&& act) {
    const std::scoped_lock lock(mutex_);
    return act(bench_, logic_.bite_runs());
  }

 private:
  void sample();
  [[nodiscard]] Sensors read_sensors();

  std::mutex mutex_;
  PressLogic logic_;
  plant::Plant plant_;
  plant::Sensors sensors_;
  bench::Bench bench_;
  Contacts contacts_;
  std::vector<FaultWindow> faults_;
  ActiveFaults active_;
  LinkFaultSwitch link_faults_;
  Drive drive_ = Drive::rest;
  plant::NoLoad air_;
  plant::Load* load_ = &air_;  ///< what the dies close on: air, or the part of the stroke that runs
  std::uint32_t zeroings_done_ = 0;
  std::int64_t now_ms_ = 0;
  std::int64_t sample_number_ = 0;
  std::optional<InputRegisters> frozen_image_;
  std::optional<std::uint16_t> frozen_beat_;
};

}  // namespace shankwright::node
