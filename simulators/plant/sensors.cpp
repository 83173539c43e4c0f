#include <algorithm>
#include <cmath>

#include "simulators/plant/plant.hpp"

namespace shankwright::plant {

namespace {

constexpr double pressure_noise_bar = 0.12;
constexpr double gap_noise_mm = 0.0012;
constexpr double gap_range_mm = 30;

double stepped(double value, double resolution) {
  return std::round(value / resolution) * resolution;
}

}  // namespace

Sensors::Sensors(std::uint64_t seed) : random_(seed), pressure_drift_bar_(random_.normal(0, 0.3)) {}

Readings Sensors::read(const PlantState& state, const Faults& faults) {
  Readings readings;
  // Every draw is made whatever the faults are, so that a fault changes only what it is about.
  const double pressure_noise = random_.normal(0, pressure_noise_bar);
  const double gap_noise = random_.normal(0, gap_noise_mm);
  const double live = state.pressure_bar + pressure_drift_bar_ - pressure_zero_bar_ +
                      faults.pressure_offset_bar + pressure_noise;
  readings.pressure_bar = std::max(0.0, stepped(live, 0.1));
  if (faults.pressure_frozen) {
    if (!frozen_bar_) frozen_bar_ = last_bar_.value_or(readings.pressure_bar);
    readings.pressure_bar = *frozen_bar_;
  } else {
    frozen_bar_.reset();
  }
  last_bar_ = readings.pressure_bar;
  const double gap = state.gap_mm + faults.gap_offset_mm + gap_noise;
  if (!faults.gap_dead && gap <= gap_range_mm) readings.gap_mm = std::max(0.0, stepped(gap, 0.001));
  readings.oil_temperature_c = stepped(state.oil_temperature_c, 0.1);
  readings.home = state.home;
  return readings;
}

void Sensors::zero_pressure(const PlantState& state) {
  pressure_zero_bar_ = state.pressure_bar + pressure_drift_bar_;
}

double Sensors::edge_mm(double true_edge_mm) {
  return stepped(true_edge_mm + random_.normal(0, 0.01), 0.01);
}

double Sensors::angle_deg(double true_angle_deg) {
  double angle = std::fmod(stepped(true_angle_deg + random_.normal(0, 0.05), 0.1), 360);
  if (angle < 0) angle += 360;
  return angle >= 359.95 ? 0 : angle;
}

}  // namespace shankwright::plant
