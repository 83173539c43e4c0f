#include "simulators/plant/plant.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "simulators/plant/hydraulics.hpp"

namespace shankwright::plant {

namespace {

constexpr double inner_step_s = 0.0005;
constexpr double servo_band_bar = 30;  // pressure error at which the servo valve is fully open
constexpr double servo_lag_s = 0.004;
constexpr double home_mm = 0.05;  // ram travel at which the home switch makes
constexpr double ambient_c = 22;
constexpr double tank_heat_kj_per_k = 180;
constexpr double tank_cooling_s = 3600;

}  // namespace

bool PlantState::finite() const {
  return std::isfinite(pressure_bar) && std::isfinite(gap_mm) && std::isfinite(force_kn) &&
         std::isfinite(face_force_kn) && std::isfinite(oil_temperature_c);
}

Plant::Plant(const PressTruth& truth) : truth_(truth) {
  const auto sound = [](double value) { return std::isfinite(value) && value > 0; };
  if (!sound(truth.ram_area_mm2) || !sound(truth.opening_mm) || !sound(truth.oil_length_mm) ||
      !sound(truth.bulk_modulus_mpa) || !sound(truth.frame_stretch_mm_per_mn) ||
      !sound(truth.face_stretch_mm_per_mn))
    throw std::invalid_argument("a press needs positive area, opening, oil column, bulk modulus and stretch");
  oil_mm3_ = truth.ram_area_mm2 * truth.oil_length_mm;
  state_.gap_mm = truth.opening_mm;
  state_.oil_temperature_c = truth.oil_temperature_c;
  state_.home = true;
}

const PlantState& Plant::step(double dt_s, const Command& command, Load& load) {
  if (!(dt_s > 0 && dt_s <= 0.1)) throw std::invalid_argument("a step lasts above 0 s and at most 0.1 s");
  const int steps = static_cast<int>(std::ceil(dt_s / inner_step_s - 1e-9));
  for (int i = 0; i < steps; ++i) inner_step(dt_s / steps, command, load);
  return state_;
}

void Plant::inner_step(double dt_s, const Command& command, Load& load) {
  const Hydraulics oil(truth_, faults_, state_.oil_temperature_c);
  const double area = truth_.ram_area_mm2;
  const double bar_per_kn = 1e4 / area;
  const bool opening = command.valve == Valve::open;
  const bool driven = command.valve == Valve::close && command.pump_on;

  const double set_bar =
      std::max(0.0, command.target_pressure_bar) * 1.006 + (command.target_pressure_bar > 0 ? 1 : 0);
  const double wanted = driven ? std::clamp((set_bar - state_.pressure_bar) / servo_band_bar, -1.0, 1.0) : 0;
  servo_ += (wanted - servo_) * std::min(1.0, dt_s / servo_lag_s);
  const double opening_now = driven ? servo_ : 0;

  const auto inflow_mm3_s = [&](double bar) {  // falls with pressure
    double flow = -oil.leak_mm3_s(bar) - oil.relief_mm3_s(bar);
    if (opening) flow -= oil.drain_mm3_s(bar);
    if (driven)
      flow += opening_now > 0 ? opening_now * oil.pump_mm3_s(bar, first_stage_unloaded_)
                              : opening_now * truth_.squeeze_speed_mm_s * area;
    return flow;
  };
  // The equations below ask for the force at the standing gap many times over; it costs the most of all.
  const double standing_gap = state_.gap_mm, standing_load_kn = load.force_kn(standing_gap);
  const auto load_at = [&](double gap) {
    return gap == standing_gap ? standing_load_kn : load.force_kn(gap);
  };
  const auto force_at = [&](double gap) {
    return load_at(gap) + std::max(0.0, -gap) / truth_.face_stretch_mm_per_mn * 1000;
  };
  const auto ram_at = [&](double gap) {
    return truth_.opening_mm - gap + force_at(gap) * truth_.frame_stretch_mm_per_mn / 1000;
  };
  const auto surplus = [&](double ram,
                           double bar) {  // oil that would be left over, mm3 at 0 bar; falls with ram and bar
    return oil_mm3_ + dt_s * inflow_mm3_s(bar) -
           area * (truth_.oil_length_mm + ram) / (1 - oil.compression(bar));
  };
  const double against_bar = opening ? truth_.return_pressure_bar : truth_.back_pressure_bar;
  const auto closing_bar = [&](double gap) {
    return (force_at(gap) * bar_per_kn + against_bar + truth_.seal_friction_bar) /
           (1 - truth_.seal_friction_fraction);
  };
  const auto returning_bar = [&](double gap) {
    return std::max(0.0, (force_at(gap) * bar_per_kn + against_bar - truth_.seal_friction_bar) /
                             (1 + truth_.seal_friction_fraction));
  };

  double gap = state_.gap_mm;
  const auto pressure_with_ram_still = [&] {
    if (surplus(ram_mm_, 0) <= 0) return 0.0;  // a void: the oil does not fill the chamber
    return falling_root([&](double bar) { return surplus(ram_mm_, bar); }, 0, 4000);
  };
  double bar = pressure_with_ram_still();
  const bool at_stop = ram_mm_ <= 0;
  if (bar > closing_bar(gap)) {
    double near = gap, far = gap - 0.05;
    const auto left = [&](double g) { return surplus(ram_at(g), closing_bar(g)); };
    while (left(far) > 0 && far > -20) far -= 0.5;
    gap = near - falling_root([&](double travel) { return left(near - travel); }, 0, near - far);
    bar = closing_bar(gap);
    ram_mm_ = ram_at(gap);
  } else if (!at_stop && bar < returning_bar(gap)) {
    const double most = truth_.opening_mm;
    const auto left = [&](double g) { return surplus(ram_at(g), returning_bar(g)); };
    if (left(most) <
        0) {  // home before the oil is out: the stop holds the ram and the pressure follows the oil
      gap = most;
      ram_mm_ = 0;
      bar = pressure_with_ram_still();
    } else {
      gap = most - falling_root([&](double back) { return left(most - back); }, 0, most - gap);
      bar = returning_bar(gap);
      ram_mm_ = std::max(0.0, ram_at(gap));
    }
  }
  // Where oil fills the chamber its quantity follows from volume and pressure, which keeps sums from
  // drifting.
  oil_mm3_ = bar > 0 ? area * (truth_.oil_length_mm + ram_mm_) / (1 - oil.compression(bar))
                     : std::max(0.5 * area * truth_.oil_length_mm, oil_mm3_ + dt_s * inflow_mm3_s(0));
  if (bar > truth_.switching_pressure_bar) first_stage_unloaded_ = true;
  if (bar < 0.7 * truth_.switching_pressure_bar) first_stage_unloaded_ = false;

  load.reached(gap);
  state_.pressure_bar = bar;
  state_.gap_mm = gap;
  state_.force_kn = load.force_kn(gap);
  state_.face_force_kn = force_at(gap) - state_.force_kn;
  state_.home = ram_mm_ < home_mm;
  state_.faces_met = state_.face_force_kn > 0;
  if (faults_.oil_temperature_c) {
    state_.oil_temperature_c = *faults_.oil_temperature_c;
  } else {
    // All the work the pump does ends as heat in the tank. 1 bar mm3 = 1e-7 kJ.
    const double power_kw = driven ? bar * oil.pump_mm3_s(bar, first_stage_unloaded_) * 1e-7 : 0;
    state_.oil_temperature_c +=
        dt_s * (power_kw / tank_heat_kj_per_k - (state_.oil_temperature_c - ambient_c) / tank_cooling_s);
  }
}

}  // namespace shankwright::plant
