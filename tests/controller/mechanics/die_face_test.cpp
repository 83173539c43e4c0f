#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "mechanics/die_face.hpp"

using namespace shankwright::mechanics;

namespace {

/// Area the closed dies leave free, by counting points of a fine grid; mm2.
double free_area_mm2(const Die& die, double gap_mm) {
  constexpr int lines = 1500;
  const double reach = die.across_flats_mm;
  int free = 0;
  for (int i = 0; i < lines; ++i)
    for (int j = 0; j < lines; ++j) {
      const double x = reach * (i + 0.5) / lines;
      const double y = reach * (j + 0.5) / lines;
      const Touches found = touches(die, gap_mm, x, y);
      // Beyond the parting line there is no cavity.
      if (found.count == 0 && x < reach / std::numbers::sqrt3 * 1.001) ++free;
    }
  return 4. * free * (reach / lines) * (reach / lines);
}

}  // namespace

TEST_CASE("A hexagonal pair first touches a round shank when the gap is twice what the shank is too wide",
          "[mechanics]") {
  const Die die{DieShape::hexagon, 7.95};
  const double gap = first_touch_gap_mm(die, 9.12);
  CHECK(gap == Approx(2 * (9.12 - 7.95)));
  const auto touched = [&](double at_gap) {
    for (int degrees = 0; degrees <= 90; ++degrees) {
      const double angle = degrees * std::numbers::pi / 180;
      if (touches(die, at_gap, 4.56 * std::cos(angle), 4.56 * std::sin(angle)).count > 0) return true;
    }
    return false;
  };
  CHECK_FALSE(touched(gap + 1e-6));
  CHECK(touched(gap - 1e-6));
}

TEST_CASE("Closed dies leave the area of a regular hexagon, or of a circle", "[mechanics]") {
  // Regular hexagon of width W across flats: (sqrt 3 / 2) W^2 (any table of polygons).
  CHECK(free_area_mm2({DieShape::hexagon, 8}, 0) == Approx(std::numbers::sqrt3 / 2 * 64).epsilon(0.003));
  CHECK(free_area_mm2({DieShape::round, 8}, 0) == Approx(std::numbers::pi * 16).epsilon(0.01));
}

TEST_CASE("Side flats stand 60 degrees off the closing axis and come in half as fast as the base flats",
          "[mechanics]") {
  const Die die{DieShape::hexagon, 8};
  const double c = std::cos(std::numbers::pi / 6);
  const double s = std::sin(std::numbers::pi / 6);
  for (const double gap : {0.0, 0.4, 1.0}) {
    const double reach = 4 + gap / 4 + 0.01;
    const Touches side = touches(die, gap, reach * c, reach * s);
    REQUIRE(side.count == 1);
    CHECK(side.list[0].depth_mm == Approx(0.01));
    CHECK(side.list[0].outward[1] == Approx(0.5));
    const Touches base = touches(die, gap, 0, 4 + gap / 2 + 0.01);
    REQUIRE(base.count == 1);
    CHECK(base.list[0].depth_mm == Approx(0.01));
  }
}

TEST_CASE("Dies no smaller than the shank never touch it", "[mechanics]") {
  CHECK(first_touch_gap_mm({DieShape::hexagon, 9.12}, 9.12) == 0);
  CHECK(first_touch_gap_mm({DieShape::round, 10}, 9.12) == 0);
}
