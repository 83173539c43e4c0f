#include "simulators/node/press_logic.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "simulators/node/scaling.hpp"

namespace shankwright::node {

PressLogic::PressLogic(const NodeSettings& settings)
    : settings_(settings), bite_number_(settings.bites_before), stroke_total_(settings.strokes_before) {}

Drive PressLogic::sample(const Sensors& sensors) {
  sensors_ = sensors;
  pressure_ = tenths(sensors.pressure_bar);
  gap_ = micrometres(sensors.gap_mm);
  if (bite_runs_) bite_ms_ += sample_period_ms;
  check_for_faults();
  check_conditions_of_the_permit();
  step_phase();
  return drive();
}

void PressLogic::cycle() {
  ++beat_;
  const bool station_must_beat = permit_stands() || bite_runs_;
  if (!station_must_beat) return;
  station_silent_ms_ += cycle_period_ms;
  if (station_silent_ms_ > station_beat_period_ms_max) raise(Fault::station_beat_lost);
}

/// Causes that are wrong in every phase, whether or not somebody works at the press.
Fault PressLogic::standing_cause() const {
  if (!sensors_.emergency_circuit_healthy) return Fault::emergency_stop;
  if (pressure_ > tenths(settings_.limit_bar_max)) return Fault::over_pressure;
  const double bar = sensors_.pressure_bar;
  if (!std::isfinite(bar) || bar < -settings_.zero_bar_most || bar > settings_.pressure_sensor_bar) {
    return Fault::pressure_sensor;
  }
  if (!(sensors_.gap_mm >= -1.0 && sensors_.gap_mm <= settings_.gap_mm_most)) return Fault::gap_sensor;
  if (sensors_.dies_home && gap_ < settings_.home_gap_um_least) return Fault::gap_sensor;  // they contradict
  if (!(sensors_.oil_temperature_c >= settings_.oil_c_least &&
        sensors_.oil_temperature_c <= settings_.oil_c_most)) {
    return Fault::oil_temperature;
  }
  return Fault::none;
}

void PressLogic::raise(Fault fault) {
  if (fault_ == Fault::none) fault_ = fault;
  if (permit_stands()) permit_state_ = PermitState::withdrawn;
  opening_by_hand_ = false;
  phase_ = Phase::faulted;
}

void PressLogic::check_for_faults() {
  if (const Fault cause = standing_cause(); cause != Fault::none) {
    raise(cause);
    return;
  }
  const bool at_work = phase_ == Phase::permitted || phase_ == Phase::closing || phase_ == Phase::holding ||
                       phase_ == Phase::opening;
  if (at_work && !sensors_.guard_closed) {
    raise(Fault::guard_opened);
  } else if (bite_runs_ && pressure_ > limits_.limit) {
    raise(Fault::over_pressure);
  }
}

/// What ends a permit without being a fault: the press was taken to local control, the die pair is another
/// one, the pump stopped, the dies are no longer home, or nobody used it in time.
void PressLogic::check_conditions_of_the_permit() {
  if (!permit_stands() || phase_ == Phase::opening) return;
  if (!sensors_.remote_selected || sensors_.die_tag != limits_.die_tag || !sensors_.pump_running) withdraw();
  if (phase_ == Phase::permitted && !sensors_.dies_home) withdraw();
  if (phase_ != Phase::permitted) return;
  permit_age_ms_ += sample_period_ms;
  if (permit_age_ms_ > limits_.life_ms) {
    permit_state_ = PermitState::expired;
    phase_ = Phase::open;
  }
}

void PressLogic::begin_bite() {
  phase_ = Phase::closing;
  bite_runs_ = true;
  bite_ms_ = 0;
  opening_ms_ = 0;
  dwell_ms_ = 0;
  peak_pressure_ = 0;
  least_gap_ = gap_beyond_range;
  rows_ = {};
  sample_count_ = 0;
  next_sequence_ = 0;
  newest_sample_ = 0;
  sample_bite_ = static_cast<std::uint16_t>(bite_number_ + 1);
}

void PressLogic::step_phase() {
  if (!sensors_.both_hands_on) hands_were_off_ = true;
  const bool ready = sensors_.dies_home && sensors_.pump_running;
  if (phase_ == Phase::open && !ready) phase_ = Phase::stopped;
  if (phase_ == Phase::stopped && ready) phase_ = Phase::open;
  if (phase_ != Phase::stopped) opening_by_hand_ = false;
  if (phase_ == Phase::permitted && sensors_.both_hands_on && hands_were_off_) {
    // A ram that claims to be at target before it moved has a sensor that cannot be believed.
    if (pressure_ >= limits_.target)
      raise(Fault::pressure_sensor);
    else
      begin_bite();
  }
  if (!bite_runs_) return;

  take_sample();
  if (phase_ == Phase::closing) {
    if (pressure_ >= limits_.target) {
      phase_ = Phase::holding;
    } else if (!sensors_.both_hands_on) {
      raise(Fault::hands_released);
    }
  }
  if (phase_ == Phase::holding && (dwell_ms_ >= limits_.dwell_ms || !sensors_.both_hands_on))
    phase_ = Phase::opening;
  // The dwell itself is not part of the stroke's allowance: bite_ms_ without the time spent at target.
  const bool on_the_way = phase_ == Phase::closing || phase_ == Phase::holding;
  if (on_the_way && bite_ms_ - dwell_ms_ > limits_.timeout_ms) raise(Fault::stroke_timeout);
  if (phase_ == Phase::opening || phase_ == Phase::faulted) {
    opening_ms_ += sample_period_ms;
    if (opening_ms_ > settings_.opening_timeout_ms && phase_ == Phase::opening) raise(Fault::stroke_timeout);
    // A home switch that the gap sensor contradicts does not end the bite: the dies go on opening.
    if (sensors_.dies_home && gap_ >= settings_.home_gap_um_least && bite_ms_ > 0) finish_bite();
  }
}

void PressLogic::take_sample() {
  peak_pressure_ = std::max(peak_pressure_, pressure_);
  least_gap_ = std::min(least_gap_, gap_);
  if (bite_ms_ > 0 && pressure_ >= limits_.target) dwell_ms_ += sample_period_ms;
  const std::uint16_t sequence = next_sequence_++;
  if (!sensors_.sampler_alive) {
    sample_count_ = 0;  // rows held are consecutive by definition: a hole starts the table anew
    return;
  }
  newest_sample_ = sequence;
  if (sample_count_ == samples_held_max) {
    std::shift_left(rows_.begin(), rows_.end(), 1);
    --sample_count_;
  }
  rows_[sample_count_++] = {static_cast<std::uint16_t>(bite_ms_), pressure_, gap_};
}

void PressLogic::finish_bite() {
  bite_runs_ = false;
  ++bite_number_;
  ++stroke_total_;
  if (permit_stands()) permit_state_ = PermitState::used;
  if (phase_ == Phase::opening) phase_ = sensors_.pump_running ? Phase::open : Phase::stopped;
}

Drive PressLogic::drive() const {
  if (bite_runs_ && (phase_ == Phase::opening || phase_ == Phase::faulted)) return Drive::open;
  if (phase_ == Phase::closing || phase_ == Phase::holding) return Drive::close;
  if (opening_by_hand_ && sensors_.both_hands_on && sensors_.guard_closed) return Drive::open;
  return Drive::rest;
}

InputRegisters PressLogic::input_registers() const {
  InputRegisters out{};
  unsigned status = 0;
  const auto set = [&status](status_bit::Bit bit, bool on) { status |= (on ? 1u : 0u) << bit; };
  set(status_bit::emergency_circuit_healthy, sensors_.emergency_circuit_healthy);
  set(status_bit::guard_closed, sensors_.guard_closed);
  set(status_bit::both_hands_on, sensors_.both_hands_on);
  set(status_bit::pump_running, sensors_.pump_running);
  set(status_bit::dies_home, sensors_.dies_home);
  set(status_bit::dies_closed, gap_ <= limits_.closed_gap && limits_.target > 0);
  set(status_bit::shank_present, sensors_.shank_present);
  set(status_bit::mark_seen, settings_.mark_sensor_fitted && sensors_.mark_seen);
  set(status_bit::remote_selected, sensors_.remote_selected);
  set(status_bit::mark_sensor_fitted, settings_.mark_sensor_fitted);
  set(status_bit::angle_encoder_fitted, settings_.angle_encoder_fitted);
  set(status_bit::position_sensor_fitted, settings_.position_sensor_fitted);

  out[input::version] = map_version;
  out[input::node_beat] = beat_;
  out[input::phase] = static_cast<std::uint16_t>(phase_);
  out[input::fault_code] = static_cast<std::uint16_t>(fault_);
  out[input::status] = static_cast<std::uint16_t>(status);
  out[input::die_tag] = sensors_.die_tag;
  out[input::angle] = settings_.angle_encoder_fitted ? turn_tenths(sensors_.angle_deg) : std::uint16_t{0};
  out[input::oil_temperature] = signed_steps(sensors_.oil_temperature_c, 10);
  out[input::pressure] = pressure_;
  out[input::gap] = gap_;
  out[input::edge_distance] =
      settings_.position_sensor_fitted ? signed_steps(sensors_.edge_distance_mm, 100) : std::uint16_t{0};
  out[input::permit_echo] = permit_echo_;
  out[input::permit_state] = static_cast<std::uint16_t>(permit_state_);
  out[input::bite_number] = bite_number_;
  out[input::stroke_total] = static_cast<std::uint16_t>(stroke_total_ >> 16);
  out[input::stroke_total + 1] = static_cast<std::uint16_t>(stroke_total_ & 0xFFFFu);
  out[input::peak_pressure] = peak_pressure_;
  out[input::dwell_done] =
      static_cast<std::uint16_t>(std::min<int>(dwell_ms_, std::numeric_limits<std::uint16_t>::max()));
  out[input::least_gap] = least_gap_;
  out[input::newest_sample] = newest_sample_;
  out[input::sample_count] = sample_count_;
  out[input::sample_bite] = sample_bite_;
  out[input::refusal] = static_cast<std::uint16_t>(refusal_);
  for (std::size_t i = 0; i < samples_held_max; ++i) {
    out[input::samples + 3 * i] = rows_[i].time_ms;
    out[input::samples + 3 * i + 1] = rows_[i].pressure;
    out[input::samples + 3 * i + 2] = rows_[i].gap;
  }
  return out;
}

}  // namespace shankwright::node
