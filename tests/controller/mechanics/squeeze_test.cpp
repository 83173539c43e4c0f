#include <catch2/catch.hpp>
#include <cmath>

#include "mechanics/squeeze.hpp"

using namespace shankwright::mechanics;

namespace {

SqueezeInput terminal(double metal_area_factor) {
  SqueezeInput input;
  input.section.shank_diameter_mm = 9.12;
  input.section.bore_mm = 5.16;
  if (metal_area_factor > 0) input.section.rope = RopeCore{metal_area_factor, 4.76};
  input.die.across_flats_mm = 7.95;
  input.fineness = Fineness::coarse;
  return input;
}

SqueezeCourse course_of(const SqueezeInput& input, const std::vector<double>& gaps) {
  const auto course = squeeze(input, gaps);
  if (!course.ok()) FAIL(course.problem().text());
  return course.value();
}

}  // namespace

TEST_CASE("The nearer the dies, the greater the force, in both passes", "[mechanics]") {
  for (const double factor : {0.0, 0.418, 0.597}) {
    double before = 0;
    int pass = 1;
    for (const SqueezePoint& point :
         course_of(terminal(factor), {1.2, 1.0, 0.8, 0.6, 0.4, 0.2, 0.1}).points) {
      if (point.pass != pass) before = 0;
      pass = point.pass;
      CHECK(point.force_n_per_mm >= before);
      before = point.force_n_per_mm;
    }
  }
}

// Common practice, no source: dense 1x19 resists more than 7x7, and 7x7 more than 7x19; an empty shank least.
TEST_CASE("1x19 needs more force and grows more than 7x7, that more than 7x19, that more than an empty shank",
          "[mechanics]") {
  double force = 1e9;
  double growth = 1;
  for (const double factor : {0.597, 0.432, 0.418, 0.0}) {
    const PassResult after = course_of(terminal(factor), {}).after.back();
    CHECK(after.closing_force_n_per_mm < force);
    CHECK(after.growth < growth);
    force = after.closing_force_n_per_mm;
    growth = after.growth;
  }
}

// Common practice, no source: a second squeeze after a quarter turn lengthens the shank slightly further.
TEST_CASE(
    "The second squeeze after a quarter turn lengthens the shank further and presses the first flats in",
    "[mechanics]") {
  for (const DieShape shape : {DieShape::hexagon, DieShape::round}) {
    SqueezeInput input = terminal(0.418);
    input.die.shape = shape;
    const auto after = course_of(input, {}).after;
    REQUIRE(after.size() == 2);
    CHECK(after[1].growth > after[0].growth);
    CHECK(after[1].growth < 2 * after[0].growth);
    if (shape == DieShape::hexagon) CHECK(after[1].earlier_flats_mm < after[0].across_flats_mm);
  }
}

TEST_CASE("Solid material resists about 1.4 times as much as a roped shank, from the first contact on",
          "[mechanics]") {
  SqueezeInput solid = terminal(0);
  solid.section.bore_mm = 0;
  const auto bar = course_of(solid, {2.0, 1.0, 0.5}).points;
  const auto roped = course_of(terminal(0.418), {2.0, 1.0, 0.5}).points;
  for (std::size_t i = 0; i < 4; ++i) CHECK(bar[i].force_n_per_mm > 1.3 * roped[i].force_n_per_mm);
}

TEST_CASE(
    "A section twice as large in every length needs twice the force per mm: four times over twice the length",
    "[mechanics]") {
  const SqueezeCourse one = course_of(terminal(0.418), {1.0, 0.5, 0.25});
  SqueezeInput large = terminal(0.418);
  large.section.shank_diameter_mm *= 2;
  large.section.bore_mm *= 2;
  large.section.rope->diameter_mm *= 2;
  large.die.across_flats_mm *= 2;
  const SqueezeCourse two = course_of(large, {2.0, 1.0, 0.5});
  REQUIRE(one.points.size() == two.points.size());
  for (std::size_t i = 0; i < one.points.size(); ++i) {
    CHECK(two.points[i].force_n_per_mm == Approx(2 * one.points[i].force_n_per_mm).epsilon(1e-3));
    CHECK(two.points[i].growth == Approx(one.points[i].growth).epsilon(1e-3));
  }
}

TEST_CASE("Stronger metal needs force in proportion when shank and rope are alike stronger", "[mechanics]") {
  SqueezeInput strong = terminal(0);
  strong.section.flow.strength_mpa *= 1.1;
  strong.section.flow.yield_mpa *= 1.1;
  const double ratio = course_of(strong, {}).after[0].closing_force_n_per_mm /
                       course_of(terminal(0), {}).after[0].closing_force_n_per_mm;
  CHECK(ratio == Approx(1.1).epsilon(0.01));
}

TEST_CASE("Friction costs force and a gripped rope costs growth", "[mechanics]") {
  SqueezeInput slippery = terminal(0.418);
  slippery.section.friction = 0;
  SqueezeInput dry = terminal(0.418);
  dry.section.friction = 0.25;
  CHECK(course_of(dry, {}).after[0].closing_force_n_per_mm >
        1.05 * course_of(slippery, {}).after[0].closing_force_n_per_mm);
  SqueezeInput gripped = terminal(0.418);
  gripped.section.rope->grip = 1;
  const PassResult held = course_of(gripped, {}).after[0];
  const PassResult sliding = course_of(terminal(0.418), {}).after[0];
  CHECK(held.growth < 0.6 * sliding.growth);
  CHECK(held.closing_force_n_per_mm > 1.3 * sliding.closing_force_n_per_mm);
}

TEST_CASE("Contact, rope and lock-up come in their order", "[mechanics]") {
  const PassResult first = course_of(terminal(0.597), {}).after[0];
  REQUIRE(first.base_gap_mm);
  REQUIRE(first.rope_gap_mm);
  REQUIRE(first.lock_up_gap_mm);
  CHECK(first.touch_gap_mm == Approx(2 * (9.12 - 7.95)).margin(0.02));
  CHECK(*first.base_gap_mm < first.touch_gap_mm);
  CHECK(*first.lock_up_gap_mm < *first.rope_gap_mm);
}

TEST_CASE("Dies that stop short leave a wider, shorter shank", "[mechanics]") {
  SqueezeInput stopped = terminal(0.418);
  stopped.least_gap_mm = 0.3;
  const PassResult wide = course_of(stopped, {}).after[0];
  const PassResult closed = course_of(terminal(0.418), {}).after[0];
  CHECK(wide.across_flats_mm > closed.across_flats_mm + 0.2);
  CHECK(wide.growth < closed.growth);
}

TEST_CASE("What cannot be squeezed is refused with the quantity and what is expected", "[mechanics]") {
  struct Wrong {
    const char* place;
    SqueezeInput input;
  };
  std::vector<Wrong> wrong;
  const auto with = [&](const char* place, auto change) {
    SqueezeInput input = terminal(0.418);
    change(input);
    wrong.push_back({place, input});
  };
  with("shank diameter", [](SqueezeInput& i) { i.section.shank_diameter_mm = 0.5; });
  with("shank diameter", [](SqueezeInput& i) { i.section.shank_diameter_mm = std::nan(""); });
  with("bore", [](SqueezeInput& i) { i.section.bore_mm = 9; });
  with("rope", [](SqueezeInput& i) { i.section.bore_mm = 0; });
  with("rope diameter", [](SqueezeInput& i) { i.section.rope->diameter_mm = 5.2; });
  with("grip", [](SqueezeInput& i) { i.section.rope->grip = 1.2; });
  with("friction", [](SqueezeInput& i) { i.section.friction = -0.1; });
  with("yield", [](SqueezeInput& i) { i.section.flow.yield_mpa = 1300; });
  with("across flats", [](SqueezeInput& i) { i.die.across_flats_mm = 5; });
  with("passes", [](SqueezeInput& i) { i.passes = 0; });
  for (const Wrong& one : wrong) {
    INFO(one.place);
    const auto refused = squeeze(one.input, {});
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.problem().place == one.place);
    CHECK_FALSE(refused.problem().expected.empty());
  }
  const auto negative = squeeze(terminal(0.418), {-0.1});
  REQUIRE_FALSE(negative.ok());
  CHECK(negative.problem().place == "gap");
}

// Any dimensions inside the limits: an answer, every number a number, growth within reason. Worst corners of
// the limits rather than a few of the middle.
TEST_CASE("Every corner of the usual dimensions finds its equilibrium, or is told to be too small a die",
          "[mechanics]") {
  for (const double bore : {0.0, 3.0, 6.6})
    for (const double reduction : {0.02, 0.2})
      for (const double friction : {0.0, 0.3})
        for (const double factor : {0.0, 0.418, 0.597})
          for (const double grip : {0.0, 1.0})
            for (const DieShape shape : {DieShape::hexagon, DieShape::round}) {
              if ((bore == 0 && factor > 0) || (factor == 0 && grip > 0)) continue;
              if (shape == DieShape::round && reduction > 0.15) continue;
              SqueezeInput input;
              input.section.shank_diameter_mm = 9;
              input.section.bore_mm = bore;
              if (factor > 0) input.section.rope = RopeCore{factor, 0.93 * bore, grip};
              input.section.friction = friction;
              input.die = {shape, 9 * (1 - reduction)};
              input.fineness = Fineness::coarse;
              INFO("bore " << bore << " reduction " << reduction << " friction " << friction << " factor "
                           << factor << " grip " << grip << " round " << (shape == DieShape::round));
              const auto course = squeeze(input, {});
              if (!course.ok()) {  // far too small dies: metal leaves them at the parting line
                CHECK(reduction > 0.1);
                CHECK(course.problem().place == "across flats");
                continue;
              }
              for (const PassResult& pass : course.value().after) {
                CHECK(std::isfinite(pass.closing_force_n_per_mm));
                CHECK(pass.growth > -0.01);
                CHECK(pass.growth < 0.8);
                CHECK(pass.across_flats_mm > 0.98 * input.die.across_flats_mm);
                CHECK(pass.across_flats_mm < 1.15 * input.die.across_flats_mm);
              }
            }
}
