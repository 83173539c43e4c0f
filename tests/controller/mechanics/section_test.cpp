#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "mechanics/section.hpp"

using namespace shankwright::mechanics;

namespace {

SectionInput tube() {
  SectionInput input;
  input.shank_diameter_mm = 9.12;
  input.bore_mm = 5.16;
  return input;
}
const Die hexagon{DieShape::hexagon, 7.95};

}  // namespace

TEST_CASE("Metal is neither made nor lost while the dies close and open", "[mechanics]") {
  for (const bool roped : {false, true}) {
    SectionInput input = tube();
    if (roped) input.rope = RopeCore{0.418, 4.76};
    Section section(input, hexagon, Fineness::standard);
    const double metal_mm3 = std::numbers::pi / 4 * (9.12 * 9.12 - 5.16 * 5.16);
    const auto volume = [&] {
      const SectionReading now = section.reading();
      return (now.outer_area_mm2 - now.bore_area_mm2) * (1 + now.growth);
    };
    CHECK(volume() == Approx(metal_mm3).epsilon(1e-5));
    for (const double gap : {1.5, 0.5, 0.0}) {
      section.close_to(gap);
      CHECK(volume() == Approx(metal_mm3).epsilon(0.01));  // elastic: up to 0.7 % under load
    }
    section.open();
    CHECK(volume() == Approx(metal_mm3).epsilon(0.0005));
  }
}

TEST_CASE("Opened dies let go of the shank wholly, and closing again meets it where it sprang back to",
          "[mechanics]") {
  Section section(tube(), hexagon, Fineness::coarse);
  section.close_to(0);
  const double closed = section.reading().force_n_per_mm;
  section.open();
  CHECK(section.reading().force_n_per_mm == 0);
  CHECK(section.touch_gap_mm() < 0.2);
  CHECK(section.touch_gap_mm() > 0);
  section.close_to(0);
  CHECK(section.reading().force_n_per_mm == Approx(closed).epsilon(0.08));
}

TEST_CASE("Copies of a section go their own ways", "[mechanics]") {
  Section one(tube(), hexagon, Fineness::coarse);
  one.close_to(1.0);
  Section other = one;
  other.close_to(0.2);
  CHECK(one.gap_mm() == 1.0);
  CHECK(other.reading().growth > one.reading().growth);
  one.close_to(0.2);
  CHECK(one.reading().force_n_per_mm == Approx(other.reading().force_n_per_mm).epsilon(0.01));
}

TEST_CASE("Finer meshes change the answer by less than one percent of force and a tenth of a point of growth",
          "[mechanics]") {
  SectionInput input = tube();
  input.rope = RopeCore{0.418, 4.76};
  double force = 0;
  double growth = 0;
  for (const Fineness fineness : {Fineness::coarse, Fineness::standard, Fineness::fine}) {
    Section section(input, hexagon, fineness);
    section.close_to(0);
    const SectionReading now = section.reading();
    if (force > 0) {
      CHECK(now.force_n_per_mm == Approx(force).epsilon(0.01));
      CHECK(now.growth == Approx(growth).margin(0.001));
    }
    force = now.force_n_per_mm;
    growth = now.growth;
  }
}

TEST_CASE("Lengths and stresses that make no section are refused at once", "[mechanics]") {
  SectionInput input = tube();
  input.bore_mm = 9.5;
  CHECK_THROWS_AS(Section(input, hexagon, Fineness::coarse), std::invalid_argument);
  input = tube();
  input.flow.yield_mpa = 2000;
  CHECK_THROWS_AS(Section(input, hexagon, Fineness::coarse), std::invalid_argument);
}
