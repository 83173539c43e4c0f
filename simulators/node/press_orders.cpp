#include <algorithm>
#include <cmath>

#include "simulators/node/press_logic.hpp"
#include "simulators/node/scaling.hpp"

// What the station's writes may do. Nothing in this file drives a valve: orders only give, take away and
// clear.
namespace shankwright::node {

bool PressLogic::legal(std::uint16_t address, std::span<const std::uint16_t> values) const {
  if (address + values.size() > holding_register_count) return false;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const std::size_t at = address + i;
    if (at == holding::order && values[i] > last_order) return false;
    if (at == holding::target_pressure && values[i] > tenths(settings_.target_bar_max)) return false;
  }
  return true;
}

bool PressLogic::write(std::uint16_t address, std::span<const std::uint16_t> values) {
  if (!legal(address, values)) return false;
  const HoldingRegisters before = holding_;
  std::copy(values.begin(), values.end(), holding_.begin() + address);
  if (holding_[holding::station_beat] != before[holding::station_beat]) station_silent_ms_ = 0;
  const std::uint16_t token = holding_[holding::order_token];
  if (token != before[holding::order_token] && token != 0) act_on_order();
  return true;
}

void PressLogic::act_on_order() {
  switch (static_cast<Order>(holding_[holding::order])) {
    case Order::none:
      break;
    case Order::permit_one_bite:
      take_or_refuse_permit();
      break;
    case Order::withdraw_permit:
      withdraw();
      break;
    case Order::open_dies:
      withdraw();
      if (phase_ == Phase::stopped && !sensors_.dies_home) opening_by_hand_ = true;
      break;
    case Order::clear_fault:
      clear_fault();
      break;
    case Order::zero_pressure:
      zero_pressure();
      break;
  }
}

void PressLogic::take_or_refuse_permit() {
  const Limits asked{holding_[holding::target_pressure], holding_[holding::pressure_limit],
                     holding_[holding::dwell],           holding_[holding::closed_gap],
                     holding_[holding::stroke_timeout],  holding_[holding::permit_life],
                     holding_[holding::expected_die_tag]};
  const Refusal refusal = why_refused(asked);
  permit_echo_ = holding_[holding::order_token];
  refusal_ = refusal;
  if (refusal != Refusal::not_refused) {
    // permit_state has one place: it must not say "refused" while an earlier permit could still move the
    // dies.
    withdraw();
    permit_state_ = PermitState::refused;
    return;
  }
  limits_ = asked;
  permit_state_ = PermitState::taken;
  permit_age_ms_ = 0;
  station_silent_ms_ = 0;
  hands_were_off_ = !sensors_.both_hands_on;
  phase_ = Phase::permitted;
}

/// The most telling reason first: a standing fault implies phase 6, so "not open" would hide it.
Refusal PressLogic::why_refused(const Limits& asked) const {
  if (!sensors_.emergency_circuit_healthy) return Refusal::emergency_circuit;
  if (fault_ != Fault::none || standing_cause() != Fault::none) return Refusal::fault_stands;
  if (phase_ != Phase::open) return Refusal::not_open;
  if (!sensors_.guard_closed) return Refusal::guard;
  if (!sensors_.remote_selected) return Refusal::local_control;
  if (asked.die_tag != sensors_.die_tag) return Refusal::die_tag;
  if (!limits_within_own(asked)) return Refusal::limits;
  return Refusal::not_refused;
}

bool PressLogic::limits_within_own(const Limits& asked) const {
  return asked.target > 0 && asked.target <= tenths(settings_.target_bar_max) && asked.limit > asked.target &&
         asked.limit <= tenths(settings_.limit_bar_max) && asked.dwell_ms <= settings_.dwell_ms_max &&
         asked.closed_gap <= settings_.closed_gap_um_max && asked.timeout_ms > 0 &&
         asked.timeout_ms <= settings_.stroke_timeout_ms_max && asked.life_ms > 0 &&
         asked.life_ms <= settings_.permit_life_ms_max;
}

void PressLogic::withdraw() {
  if (!permit_stands()) return;
  if (phase_ == Phase::permitted) {
    permit_state_ = PermitState::withdrawn;
    phase_ = Phase::open;
  } else if (phase_ == Phase::closing || phase_ == Phase::holding) {
    permit_state_ = PermitState::withdrawn;
    phase_ = Phase::opening;
  }
  // In phase 5 the dies open already and the permit is about to be used up: nothing is left to withdraw.
}

/// A fault goes only when every cause is gone and no bite is still on its way home.
void PressLogic::clear_fault() {
  if (fault_ == Fault::none || bite_runs_ || standing_cause() != Fault::none) return;
  if (fault_ == Fault::guard_opened && !sensors_.guard_closed) return;
  fault_ = Fault::none;
  phase_ = Phase::stopped;  // the next sample finds it open, if the dies are home and the pump runs
  if (sensors_.dies_home && sensors_.pump_running) phase_ = Phase::open;
}

void PressLogic::zero_pressure() {
  const bool at_rest = phase_ == Phase::stopped || phase_ == Phase::open || phase_ == Phase::faulted;
  if (!at_rest || bite_runs_ || !sensors_.dies_home) return;
  if (!std::isfinite(sensors_.pressure_bar) || std::abs(sensors_.pressure_bar) > settings_.zero_bar_most)
    return;
  ++zeroings_;
}

}  // namespace shankwright::node
