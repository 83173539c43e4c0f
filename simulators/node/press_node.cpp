#include "simulators/node/press_node.hpp"

#include <algorithm>

namespace shankwright::node {
namespace {

constexpr int samples_per_cycle = cycle_period_ms / sample_period_ms;
// Seeds of the parts of one press, apart from each other so that one more draw here shifts nothing there.
constexpr std::uint64_t sensor_stream = 0x5E4502;

}  // namespace

PressNode::PressNode(const NodeSettings& settings, const plant::PressTruth& truth, std::uint64_t seed,
                     std::vector<FaultWindow> faults)
    : logic_(settings),
      plant_(truth),
      sensors_(seed ^ sensor_stream),
      bench_(seed),
      faults_(std::move(faults)) {
  // Power-on: the first image is there before the first request.
  drive_ = logic_.sample(read_sensors());
}

void PressNode::cycle() {
  const std::scoped_lock lock(mutex_);
  active_ = active_at(faults_, now_ms_);
  plant_.set_faults(active_.plant);
  link_faults_.set(active_.link);
  if (!active_.image_frozen) frozen_image_.reset();
  if (active_.image_frozen && !frozen_image_) frozen_image_ = logic_.input_registers();
  if (!active_.beat_frozen) frozen_beat_.reset();
  if (active_.beat_frozen && !frozen_beat_) frozen_beat_ = logic_.input_registers()[input::node_beat];
  for (int i = 0; i < samples_per_cycle; ++i) sample();
  logic_.cycle();
  now_ms_ += cycle_period_ms;
}

/// 2 ms: the machine moves as the node last told it, the sensors look, the node decides.
void PressNode::sample() {
  plant::Command command;
  command.pump_on = contacts_.emergency_circuit_healthy;
  // At rest the valve is shut, except at home: there the ram stays connected to tank, so that what pressure
  // is left in the oil cannot push it off its stop.
  const bool to_tank = drive_ == Drive::open || (drive_ == Drive::rest && plant_.state().home);
  command.valve = drive_ == Drive::close ? plant::Valve::close
                  : to_tank              ? plant::Valve::open
                                         : plant::Valve::hold;
  command.target_pressure_bar = logic_.target_bar();
  plant_.step(sample_period_ms / 1000.0, command, *load_);
  ++sample_number_;

  const bool ran = logic_.bite_runs();
  drive_ = logic_.sample(read_sensors());
  if (!ran && logic_.bite_runs()) load_ = &bench_.start_stroke();
  if (ran && !logic_.bite_runs()) {
    bench_.finish_stroke();
    load_ = &air_;
  }
}

Sensors PressNode::read_sensors() {
  const plant::Readings readings = sensors_.read(plant_.state(), active_.plant);
  Sensors out;
  out.emergency_circuit_healthy = contacts_.emergency_circuit_healthy;
  out.guard_closed = contacts_.guard_closed;
  out.both_hands_on = contacts_.both_hands_on;
  out.pump_running = contacts_.emergency_circuit_healthy;  // the circuit cuts the pump's contactor
  out.dies_home = readings.home;
  out.remote_selected = contacts_.remote_selected;
  out.shank_present = bench_.shank_present();
  out.mark_seen = bench_.mark_seen();
  out.sampler_alive = active_.sample_hole_every == 0 || sample_number_ % active_.sample_hole_every != 0;
  out.die_tag = bench_.die_tag();
  out.pressure_bar = readings.pressure_bar;
  if (readings.gap_mm) out.gap_mm = *readings.gap_mm;
  out.oil_temperature_c = readings.oil_temperature_c;
  out.angle_deg = sensors_.angle_deg(bench_.angle_deg());
  out.edge_distance_mm = bench_.shank_present() ? sensors_.edge_mm(bench_.edge_mm()) : 0;
  return out;
}

InputRegisters PressNode::read_input_registers() {
  const std::scoped_lock lock(mutex_);
  if (frozen_image_) return *frozen_image_;
  InputRegisters out = logic_.input_registers();
  if (frozen_beat_) out[input::node_beat] = *frozen_beat_;
  return out;
}

HoldingRegisters PressNode::read_holding_registers() {
  const std::scoped_lock lock(mutex_);
  return logic_.holding_registers();
}

bool PressNode::write_holding_registers(std::uint16_t address, std::span<const std::uint16_t> values) {
  const std::scoped_lock lock(mutex_);
  if (!logic_.write(address, values)) return false;
  if (logic_.zeroings() != zeroings_done_) {
    zeroings_done_ = logic_.zeroings();
    sensors_.zero_pressure(plant_.state());
  }
  return true;
}

PressView PressNode::view() {
  const std::scoped_lock lock(mutex_);
  PressView out;
  out.contacts = contacts_;
  out.phase = logic_.phase();
  out.fault = logic_.fault();
  out.permit_state = logic_.permit_state();
  out.bite_number = logic_.bite_number();
  out.die_tag = bench_.die_tag();
  out.dies_home = plant_.state().home;
  out.bite_runs = logic_.bite_runs();
  out.shank_present = bench_.shank_present();
  out.pressure_bar = plant_.state().pressure_bar;
  out.gap_mm = plant_.state().gap_mm;
  out.force_kn = plant_.state().force_kn;
  out.oil_temperature_c = plant_.state().oil_temperature_c;
  out.edge_mm = bench_.edge_mm();
  out.angle_deg = bench_.angle_deg();
  out.press_time_ms = now_ms_;
  for (const FaultWindow& window : faults_) {
    if (window.from_ms <= now_ms_ && now_ms_ < window.until_ms) out.faults.push_back(window);
  }
  return out;
}

void PressNode::set_fault(FaultKind kind, double value, std::int64_t length_ms) {
  const std::scoped_lock lock(mutex_);
  std::erase_if(faults_, [kind](const FaultWindow& window) { return window.kind == kind; });
  faults_.push_back({kind, value, now_ms_, length_ms == no_end_ms ? no_end_ms : now_ms_ + length_ms});
}

void PressNode::clear_faults() {
  const std::scoped_lock lock(mutex_);
  faults_.clear();
}

}  // namespace shankwright::node
