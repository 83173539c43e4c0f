#include <catch2/catch.hpp>
#include <cmath>

#include "plant_rig.hpp"

using namespace shankwright::plant;
using namespace shankwright::plant::testing;

namespace {

/// A spring from 1 mm on: needs a press, not a part.
class Spring final : public Load {
 public:
  explicit Spring(double kn_per_mm, double from_mm = 1) : kn_per_mm_(kn_per_mm), from_mm_(from_mm) {}
  [[nodiscard]] double force_kn(double gap_mm) const override {
    return std::max(0.0, from_mm_ - gap_mm) * kn_per_mm_;
  }
  void reached(double gap_mm) override { least_mm = std::min(least_mm, gap_mm); }
  double least_mm = 1e9;

 private:
  double kn_per_mm_, from_mm_;
};

}  // namespace

TEST_CASE("Oil shrinks as its bulk modulus says") {
  // Handbook text on compressibility of hydraulic fluids: 0.5 % of volume per 6900 kPa up to 27600 kPa ("for
  // each" is from memory); that is a bulk modulus of 1380 MPa.
  for (int i = 1; i <= 4; ++i) {
    const double bar = 69.0 * i;
    CAPTURE(bar);
    CHECK(oil_compression(bar, 1380, 0) ==
          Approx(0.005 * i).epsilon(0.12));  // it stiffens with pressure, the rule does not
  }
  // Fluid power trade reference: dV = dP V0 / B and lost work = dP^2 V0 / B, at a small pressure, where
  // stiffening does not matter.
  const double volume_mm3 = 1e6, bulk_mpa = 1500, rise_mpa = 2;
  const double lost_mm3 = volume_mm3 * oil_compression(10 * rise_mpa, bulk_mpa, 0);
  CHECK(lost_mm3 == Approx(rise_mpa * volume_mm3 / bulk_mpa).epsilon(0.01));
  CHECK(lost_mm3 * rise_mpa == Approx(rise_mpa * rise_mpa * volume_mm3 / bulk_mpa).epsilon(0.01));
  CHECK(oil_compression(0, 1500, 0.01) == Approx(0).margin(1e-12));
  CHECK(oil_compression(-5, 1500, 0.01) == Approx(0).margin(1e-12));
}

TEST_CASE("Air softens oil most at low pressure") {
  // General technical bulletin: air lowers the bulk modulus most below 50 to 100 bar.
  const auto modulus = [](double bar, double air) {
    return 0.1 / (oil_compression(bar + 0.5, 1500, air) - oil_compression(bar - 0.5, 1500, air));
  };
  const auto loss = [&](double bar) { return 1 - modulus(bar, 0.005) / modulus(bar, 0); };
  CHECK(loss(10) > 0.3);
  CHECK(loss(50) > loss(200));
  CHECK(loss(100) < 0.15);
  CHECK(loss(400) < 0.02);
  double last = 0;
  for (double bar = 0; bar <= 800; bar += 1) {
    const double now = oil_compression(bar, 1500, 0.005);
    if (now < last) FAIL("oil grows again at " << bar << " bar");
    last = now;
  }
}

TEST_CASE("Force on the load is pressure times area, less friction and weight") {
  // F = p A: 700 bar on a ram of 100 mm bore is 549.78 kN, 10000 psi on 4 in is 62.83 short tonf (computed
  // reference values, formula from memory). Friction and back pressure off, the press must give exactly that.
  const struct { double ram_mm, bar, kn; } cases[] = {{100, 700, 549.78}, {101.6, 689.476, 62.83 * 8.896443}};
  for (const auto& c : cases) {
    CAPTURE(c.ram_mm);
    PressTruth truth;
    truth.ram_area_mm2 = 3.14159265358979 / 4 * c.ram_mm * c.ram_mm;
    truth.seal_friction_bar = truth.seal_friction_fraction = truth.back_pressure_bar = 0;
    truth.relief_pressure_bar = 2000;
    Plant plant(truth);
    Spring spring(400);
    const auto stroke = press_once(plant, spring, c.bar, 300);
    REQUIRE(stroke.home_again);
    const double total_kn = stroke.last_held.force_kn + stroke.last_held.face_force_kn;
    CHECK(total_kn == Approx(c.kn * stroke.last_held.pressure_bar / c.bar).epsilon(1e-4));
  }
  Plant rubbing{PressTruth{}};
  Spring spring(400);
  const auto stroke = press_once(rubbing, spring, 300, 300);
  const double ideal = stroke.last_held.pressure_bar * PressTruth{}.ram_area_mm2 / 1e4;
  const double given = stroke.last_held.force_kn + stroke.last_held.face_force_kn;
  CHECK(given < ideal);
  CHECK(given > 0.98 * ideal);
}

TEST_CASE("The valve settles at or just above the target and the dies stop where their faces meet") {
  for (const double target : {60.0, 150.0, 400.0, 690.0}) {
    for (const double stiffness : {10.0, 80.0, 2000.0}) {
      CAPTURE(target, stiffness);
      Plant plant{PressTruth{}};
      Spring spring(stiffness);
      const auto stroke = press_once(plant, spring, target, 250);
      CHECK(stroke.finite);
      CHECK(stroke.home_again);
      CHECK(stroke.dwell_ms >= 250);
      CHECK(stroke.peak_bar < 1.006 * target + 1.5);
      CHECK(stroke.least_gap_mm > -0.02);
      CHECK(spring.least_mm == Approx(stroke.least_gap_mm));
    }
  }
}

TEST_CASE("An empty stroke meets its faces, holds and is home again in about a second and a half") {
  Plant plant{PressTruth{}};
  NoLoad air;
  const auto stroke = press_once(plant, air, 90, 200);
  CHECK(stroke.home_again);
  CHECK(stroke.duration_ms > 1000);
  CHECK(stroke.duration_ms < 2500);
  CHECK(stroke.last_held.faces_met);
  CHECK(stroke.last_held.force_kn == 0);
  CHECK(plant.state().gap_mm == Approx(PressTruth{}.opening_mm).margin(0.1));
}

TEST_CASE("Nothing moves without pump and valve, and leakage lets a blocked ram down slowly") {
  Plant plant{PressTruth{}};
  NoLoad air;
  for (int i = 0; i < 200; ++i) plant.step(0.01, {false, Valve::close, 300}, air);
  CHECK(plant.state().home);
  for (int i = 0; i < 200; ++i) plant.step(0.01, {true, Valve::hold, 300}, air);
  CHECK(plant.state().home);

  Spring spring(80);
  for (int i = 0; i < 300; ++i) plant.step(0.01, {true, Valve::close, 300}, spring);
  const double held = plant.state().pressure_bar;
  CHECK(held >= 300);
  plant.step(1e-3, {false, Valve::hold, 0}, spring);
  for (int i = 0; i < 100; ++i) plant.step(0.01, {false, Valve::hold, 0}, spring);
  const double after_1_s = plant.state().pressure_bar;
  CHECK(after_1_s < held);
  CHECK(after_1_s > 0.9 * held);
  Faults leaking;
  leaking.leak_mm3_s_bar = 60;
  plant.set_faults(leaking);
  for (int i = 0; i < 100; ++i) plant.step(0.01, {false, Valve::hold, 0}, spring);
  CHECK(plant.state().pressure_bar < 0.7 * after_1_s);
}

TEST_CASE("Each machine fault shows as it would on a real press") {
  const auto run = [](const Faults& faults, double target = 300) {
    Plant plant{PressTruth{}};
    plant.set_faults(faults);
    Spring spring(150, 2);
    return press_once(plant, spring, target, 200, 4000);
  };
  const auto sound = run({});
  REQUIRE(sound.dwell_ms >= 200);
  SECTION("a weak relief valve never lets the target be reached") {
    Faults weak;
    weak.relief_valve_bar = 180;
    const auto stroke = run(weak);
    CHECK(stroke.dwell_ms == 0);
    CHECK(stroke.peak_bar < 190);
    CHECK(stroke.peak_bar > 175);
    CHECK(stroke.home_again);
  }
  SECTION("air in the oil makes the stroke longer, not weaker") {
    Faults air;
    air.air_fraction = 0.08;
    const auto stroke = run(air);
    CHECK(stroke.duration_ms > sound.duration_ms + 50);
    CHECK(stroke.dwell_ms >= 200);
  }
  SECTION("a worn pump is slow, a very worn one stalls") {
    Faults worn;
    worn.pump_wear = 0.8;
    CHECK(run(worn).duration_ms > sound.duration_ms + 50);
    worn.pump_wear = 1.0;
    CHECK(run(worn, 715).dwell_ms < 200);
  }
  SECTION("hot oil leaks more and is softer, and reads hot") {
    Faults hot;
    hot.oil_temperature_c = 85;
    Plant plant{PressTruth{}};
    plant.set_faults(hot);
    Spring spring(150, 2);
    const auto stroke = press_once(plant, spring, 300, 200, 4000);
    CHECK(stroke.duration_ms > sound.duration_ms);
    CHECK(plant.state().oil_temperature_c == 85);
  }
}

TEST_CASE("No press, load or command makes the plant give a number that is not one") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    CAPTURE(seed);
    Random random(seed);
    PressTruth truth;
    truth.ram_area_mm2 = random.uniform(500, 60000);
    truth.opening_mm = random.uniform(3, 40);
    truth.oil_length_mm = random.uniform(2, 300);
    truth.frame_stretch_mm_per_mn = random.uniform(0.01, 5);
    truth.face_stretch_mm_per_mn = random.uniform(0.0005, 0.05);
    truth.squeeze_speed_mm_s = random.uniform(0.2, 20);
    truth.approach_speed_mm_s = truth.squeeze_speed_mm_s * random.uniform(1, 8);
    Plant plant(truth);
    Faults faults;
    if (random.chance(0.3)) faults.air_fraction = random.uniform(0, 0.4);
    if (random.chance(0.3)) faults.relief_valve_bar = random.uniform(1, 800);
    plant.set_faults(faults);
    Spring spring(random.chance(0.2) ? 1e6 : random.uniform(0, 5000), random.uniform(-0.1, 5));
    Command command;
    for (int i = 0; i < 400; ++i) {
      if (i % 20 == 0) {
        command.pump_on = random.chance(0.8);
        command.valve = random.chance(0.6) ? Valve::close : random.chance(0.5) ? Valve::open : Valve::hold;
        command.target_pressure_bar = random.uniform(0, 800);
      }
      const PlantState& s = plant.step(random.uniform(0.0001, 0.02), command, spring);
      if (!s.finite() || s.pressure_bar < 0 || s.pressure_bar > 4000 || s.gap_mm > truth.opening_mm + 1e-6 ||
          s.gap_mm < -20)
        FAIL("step " << i << " pressure " << s.pressure_bar << " gap " << s.gap_mm << " force "
                     << s.force_kn);
    }
  }
  Plant plant{PressTruth{}};
  NoLoad air;
  CHECK_THROWS_AS(plant.step(0, {}, air), std::invalid_argument);
  CHECK_THROWS_AS(plant.step(std::nan(""), {}, air), std::invalid_argument);
}

TEST_CASE("Sensors read the truth with their resolution, offset and noise") {
  Sensors sensors(5);
  PlantState state;
  state.pressure_bar = 0;
  sensors.zero_pressure(state);
  state.pressure_bar = 123.4;
  state.gap_mm = 1.234;
  double pressure = 0, gap = 0;
  for (int i = 0; i < 2000; ++i) {
    const auto r = sensors.read(state, {});
    CHECK(std::abs(r.pressure_bar * 10 - std::round(r.pressure_bar * 10)) < 1e-6);
    CHECK(std::abs(*r.gap_mm * 1000 - std::round(*r.gap_mm * 1000)) < 1e-6);
    pressure += r.pressure_bar / 2000;
    gap += *r.gap_mm / 2000;
  }
  CHECK(pressure == Approx(123.4).margin(0.02));
  CHECK(gap == Approx(1.234).margin(0.0003));
  for (int i = 0; i < 1000; ++i) {
    const double angle = sensors.angle_deg(359.99);
    CHECK(angle >= 0);
    CHECK(angle < 360);
    CHECK(sensors.edge_mm(1.85) == Approx(1.85).margin(0.06));
  }
}

TEST_CASE("Sensor faults change what is told and nothing else") {
  Sensors sensors(6);
  PlantState state;
  state.pressure_bar = 100;
  state.gap_mm = 2;
  const double before = sensors.read(state, {}).pressure_bar;
  Faults frozen;
  frozen.pressure_frozen = true;
  state.pressure_bar = 400;
  for (int i = 0; i < 5; ++i) CHECK(sensors.read(state, frozen).pressure_bar == before);
  CHECK(sensors.read(state, {}).pressure_bar == Approx(400).margin(2));
  Faults dead;
  dead.gap_dead = true;
  CHECK_FALSE(sensors.read(state, dead).gap_mm.has_value());
  Faults off;
  off.gap_offset_mm = 0.3;
  off.pressure_offset_bar = -15;
  CHECK(*sensors.read(state, off).gap_mm == Approx(2.3).margin(0.01));
  CHECK(sensors.read(state, off).pressure_bar == Approx(385).margin(2));
  state.gap_mm = 35;
  CHECK_FALSE(sensors.read(state, {}).gap_mm.has_value());
}
