#include "simulators/plant/hydraulics.hpp"

namespace shankwright::plant {

namespace {

constexpr double stiffening = 10;  // rise of the bulk modulus per rise of pressure, usual for mineral oil
constexpr double atmosphere_bar = 1.013;
constexpr double gas_exponent = 1.3;  // between isothermal and adiabatic
constexpr double rated_bar = 700;     // pump losses are told at this pressure

}  // namespace

double oil_compression(double pressure_bar, double bulk_modulus_mpa, double air_fraction) {
  const double bar = std::max(pressure_bar, 0.0);
  const double liquid = std::pow(1 + stiffening * bar / 10 / bulk_modulus_mpa, -1 / stiffening);
  const double gas = std::pow(atmosphere_bar / (atmosphere_bar + bar), 1 / gas_exponent);
  return 1 - (1 - air_fraction) * liquid - air_fraction * gas;
}

Hydraulics::Hydraulics(const PressTruth& truth, const Faults& faults, double oil_temperature_c)
    : truth_(truth),
      relief_bar_(faults.relief_valve_bar.value_or(truth.relief_pressure_bar)),
      air_fraction_(std::clamp(faults.air_fraction.value_or(truth.air_fraction), 0.0, 0.3)),
      wear_(std::clamp(faults.pump_wear.value_or(0), 0.0, 1.0)),
      leak_mm3_s_bar_(faults.leak_mm3_s_bar.value_or(truth.leak_mm3_s_bar)),
      // Hot oil is thin: it leaks more and is softer.
      thinness_(std::exp(0.025 * (oil_temperature_c - 40))),
      bulk_modulus_mpa_(std::max(300.0, truth.bulk_modulus_mpa * (1 - 0.004 * (oil_temperature_c - 40)))) {}

double Hydraulics::pump_mm3_s(double bar, bool first_stage_unloaded) const {
  const double speed = first_stage_unloaded ? truth_.squeeze_speed_mm_s : truth_.approach_speed_mm_s;
  const double second_stage = truth_.squeeze_speed_mm_s * truth_.ram_area_mm2;
  const double lost =
      second_stage * std::max(bar, 0.0) / rated_bar * (truth_.pump_slip_fraction * thinness_ + wear_);
  return std::max(0.0, speed * truth_.ram_area_mm2 - lost);
}

double Hydraulics::leak_mm3_s(double bar) const {
  return leak_mm3_s_bar_ * thinness_ * std::max(bar, 0.0);
}

double Hydraulics::relief_mm3_s(double bar) const {
  // Fully open 2 % above its setting, wide enough for both pump stages.
  const double over = std::max(0.0, bar - relief_bar_) / std::max(1.0, 0.02 * relief_bar_);
  return over * truth_.approach_speed_mm_s * truth_.ram_area_mm2;
}

double Hydraulics::drain_mm3_s(double bar) const {
  const double speeds = std::min(6.0, std::sqrt(std::max(bar, 0.0) / truth_.return_pressure_bar));
  return speeds * truth_.opening_speed_mm_s * truth_.ram_area_mm2;
}

double Hydraulics::compression(double bar) const {
  return oil_compression(bar, bulk_modulus_mpa_, air_fraction_);
}

}  // namespace shankwright::plant
