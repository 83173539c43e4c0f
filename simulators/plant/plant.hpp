#pragma once
#include <cstdint>
#include <optional>

#include "simulators/plant/load.hpp"
#include "simulators/plant/random.hpp"

/// The press without its logic: pump, valve, oil, ram, frame and sensors. Time is an argument; nothing here
/// knows a clock. Units: mm, kN, bar, seconds, degrees Celsius.
namespace shankwright::plant {

/// A press as built. Defaults are invented ("demo data") and sized like a 150 tonnef press.
struct PressTruth {
  double ram_area_mm2 = 21000;
  double opening_mm = 12;           ///< gap with the dies home
  double approach_speed_mm_s = 22;  ///< unloaded, both pump stages
  double squeeze_speed_mm_s = 4.5;  ///< second stage alone
  double opening_speed_mm_s = 30;
  double switching_pressure_bar = 40;  ///< above this the first stage is unloaded
  double relief_pressure_bar = 720;
  double frame_stretch_mm_per_mn = 0.42;  ///< frame, posts and dies together
  double face_stretch_mm_per_mn = 0.004;  ///< die faces on each other, once met
  double oil_length_mm = 45;  ///< of ram-area column when home: cylinder clearance, hoses and valve block
  double seal_friction_bar = 1.2;         ///< constant part, as pressure on the ram
  double seal_friction_fraction = 0.006;  ///< of the pressure
  double back_pressure_bar = 0.8;         ///< weight and return side while closing
  double return_pressure_bar = 9;         ///< what pulls the ram home
  double leak_mm3_s_bar = 0.6;            ///< past seals and valve at 40 degC
  double bulk_modulus_mpa = 1500;         ///< of the oil free of air, at 0 bar and 40 degC
  double air_fraction = 0.004;            ///< entrained, by volume at 0 bar gauge
  double pump_slip_fraction = 0.06;       ///< of the second stage's flow, lost at 700 bar and 40 degC
  double oil_temperature_c = 38;
};

/// Faults that can be put into the machine or its sensors. Default: none.
struct Faults {
  std::optional<double> relief_valve_bar;  ///< relief valve opens here instead
  std::optional<double> air_fraction;      ///< air in the oil
  std::optional<double> pump_wear;  ///< 0 new to 1: that share of the second stage's flow lost at 700 bar
  std::optional<double> oil_temperature_c;
  std::optional<double> leak_mm3_s_bar;
  bool pressure_frozen = false;  ///< sensor keeps its last reading
  double pressure_offset_bar = 0;
  double gap_offset_mm = 0;
  bool gap_dead = false;  ///< reads beyond range
  bool operator==(const Faults&) const = default;
};

enum class Valve : std::uint8_t {
  hold,   ///< blocked: only leakage moves the oil
  close,  ///< pump to the ram; the servo valve holds the target pressure once there
  open    ///< ram to tank, return side pulls the ram home
};

struct Command {
  bool pump_on = false;
  Valve valve = Valve::hold;
  double target_pressure_bar =
      0;  ///< the valve settles 0.6 % and 1 bar above this, so that "at or above target" is met
};

/// The truth after a step.
struct PlantState {
  double pressure_bar = 0;  ///< gauge, at the ram
  double gap_mm =
      0;  ///< true distance the die halves have to travel; slightly below 0 as faces press on each other
  double force_kn = 0;       ///< on the part
  double face_force_kn = 0;  ///< on the die faces
  double oil_temperature_c = 0;
  bool home = false;
  bool faces_met = false;
  bool finite() const;
};

class Plant {
 public:
  explicit Plant(const PressTruth& truth);

  /// Advances the machine by dt_s (0 < dt_s <= 0.1), in inner steps of at most 0.5 ms. Each inner step solves
  /// oil, ram, frame and load together (one monotone equation in the gap), so that no stiffness makes it
  /// unstable. Reports the gap reached to the load after every inner step.
  const PlantState& step(double dt_s, const Command& command, Load& load);

  [[nodiscard]] const PlantState& state() const { return state_; }
  [[nodiscard]] const PressTruth& truth() const { return truth_; }
  void set_faults(const Faults& faults) { faults_ = faults; }
  [[nodiscard]] const Faults& faults() const { return faults_; }

 private:
  void inner_step(double dt_s, const Command& command, Load& load);

  PressTruth truth_;
  Faults faults_;
  PlantState state_;
  double oil_mm3_ = 0;  ///< in the ram chamber, as it would measure at 0 bar
  double ram_mm_ = 0;   ///< travel from home
  double servo_ = 0;    ///< valve opening, -1 to 1
  bool first_stage_unloaded_ = false;
};

/// Fraction by which oil with this much air shrinks between 0 bar gauge and `pressure_bar`.
[[nodiscard]] double oil_compression(double pressure_bar, double bulk_modulus_mpa, double air_fraction);

/// What the press's sensors say, with resolution and noise: pressure 0.1 bar, gap 0.001 mm, oil 0.1 degC.
struct Readings {
  double pressure_bar = 0;       ///< never below 0
  std::optional<double> gap_mm;  ///< none: beyond range, or dead
  double oil_temperature_c = 0;
  bool home = false;
};

/// Sensor noise and drift of one press. Draws from its own generator, so that the plant itself stays free of
/// dice.
class Sensors {
 public:
  explicit Sensors(std::uint64_t seed);
  [[nodiscard]] Readings read(const PlantState& state, const Faults& faults);
  /// Takes the pressure now read as zero.
  void zero_pressure(const PlantState& state);
  /// Position and angle of the shank as fitted sensors would show them: 0.01 mm and 0.1 degree steps, with
  /// noise.
  [[nodiscard]] double edge_mm(double true_edge_mm);
  [[nodiscard]] double angle_deg(double true_angle_deg);  ///< 0 to < 360

 private:
  Random random_;
  double pressure_zero_bar_ = 0;
  double pressure_drift_bar_ = 0;  ///< of the transducer, drawn once
  std::optional<double> frozen_bar_, last_bar_;
};

}  // namespace shankwright::plant
