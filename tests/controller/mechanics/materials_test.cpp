#include <catch2/catch.hpp>
#include <cmath>

#include "mechanics/materials.hpp"

using namespace shankwright::mechanics;

// Considere: the tensile strength of K e^n is K n^n exp(-n) (any text on plastic instability). ASTM A276 asks
// 515 MPa at least of annealed 304 (value from memory).
TEST_CASE("Both handbook flow curves give annealed 304 at least the tensile strength of its standard",
          "[mechanics]") {
  struct Curve {
    double strength_mpa, hardening;
  };
  for (const Curve curve : {Curve{1275, 0.45},     // Kalpakjian and Schmid, table 2.3, value from memory
                            Curve{1400, 0.44}}) {  // Callister, 2nd ed. 2005, p. 199
    FlowStress flow;
    flow.strength_mpa = curve.strength_mpa;
    flow.hardening = curve.hardening;
    const double onset = curve.hardening - std::pow(flow.yield_mpa / flow.strength_mpa, 1 / flow.hardening);
    const double engineering_mpa = flow.stress_mpa(onset) * std::exp(-onset);
    CHECK(engineering_mpa > 515);
    CHECK(engineering_mpa < 650);
  }
}

TEST_CASE("Metal starts at its yield stress and its slope is the derivative of its stress", "[mechanics]") {
  const FlowStress flow;
  CHECK(flow.stress_mpa(0) == Approx(240));
  for (const double strain : {0.0, 0.01, 0.2, 1.0})
    CHECK(flow.slope_mpa(strain) ==
          Approx((flow.stress_mpa(strain + 1e-6) - flow.stress_mpa(strain)) / 1e-6).epsilon(1e-3));
}

TEST_CASE("A rope resists from its own diameter on, and the denser one sooner and harder", "[mechanics]") {
  const RopeCore soft{0.418, 4.76};
  const RopeCore dense{0.597, 4.76};
  CHECK(soft.pressure_mpa(2.40)[0] == 0);
  double before = 0;
  for (double radius = 2.38; radius > 1.9; radius -= 0.02) {
    const double now = soft.pressure_mpa(radius)[0];
    CHECK(now >= before);
    if (radius < 2.37) CHECK(dense.pressure_mpa(radius)[0] > now);
    before = now;
  }
}

TEST_CASE("A rope squeezed to solid metal and beyond keeps a finite pressure that its slope continues",
          "[mechanics]") {
  const RopeCore rope{0.597, 4.76};
  for (const double radius : {2.2, 2.0, 1.5, 0.5}) {
    const auto [pressure, slope] = rope.pressure_mpa(radius);
    CHECK(std::isfinite(pressure));
    CHECK(slope < 0);
    CHECK(rope.pressure_mpa(radius - 1e-6)[0] == Approx(pressure - slope * 1e-6).epsilon(1e-4));
  }
}

TEST_CASE("A gripped rope yields along the axis and lets go elastically", "[mechanics]") {
  const auto elastic = RopeCore::axial(0.005, 0);
  CHECK(elastic.stress_mpa == Approx(850));
  CHECK(elastic.plastic_stretch == 0);
  const auto drawn = RopeCore::axial(0.06, 0);
  CHECK(drawn.stress_mpa > 1650);
  CHECK(drawn.stress_mpa < 1740);
  const auto released = RopeCore::axial(0.06 - 0.002, drawn.plastic_stretch);
  CHECK(released.stress_mpa == Approx(drawn.stress_mpa - 340).epsilon(1e-6));
  CHECK(released.plastic_stretch == drawn.plastic_stretch);
}
