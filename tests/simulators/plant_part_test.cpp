#include <catch2/catch.hpp>
#include <cmath>

#include "plant_rig.hpp"

using namespace shankwright::plant;
using namespace shankwright::plant::testing;

namespace {

PartTruth terminal() {
  PartTruth truth;
  truth.shank_od_mm = 9.12;
  truth.bore_mm = 5.16;
  truth.bore_depth_mm = 52;
  return truth;
}

RopeTruth rope() {
  RopeTruth truth;
  truth.diameter_mm = 4.76;
  truth.grip = 0;
  return truth;
}

const DieTruth die{DieShape::hexagon, 7.95, 25};

/// Closes on the part to this gap without a press; returns the force there.
double squeeze(Part& part, double edge_mm, double angle_deg, double gap_mm = 0, std::uint64_t seed = 1,
               const DieTruth& with = die) {
  Random random(seed);
  part.start_bite(with, edge_mm, angle_deg);
  double force = 0;
  for (double gap = 12; gap > gap_mm; gap -= 0.01) {
    force = part.force_kn(gap);
    part.reached(gap);
  }
  force = part.force_kn(gap_mm);
  part.reached(gap_mm);
  part.finish_bite(random);
  return force;
}

}  // namespace

TEST_CASE("A bite presses what lies under the die and nothing else") {
  Part part(terminal(), rope());
  REQUIRE(part.insert_rope(0));
  const double force = squeeze(part, 2, 0);
  // 25 mm of die times 4748 N/mm, reference case tube_7x19, within the section's 5 %.
  CHECK(force == Approx(25 * 4.748).epsilon(0.05));
  CHECK(part.width_mm(10, 1) < 8.05);
  CHECK(part.width_mm(1, 1) == Approx(9.12).margin(0.02));
  CHECK(part.width_mm(35, 1) == Approx(9.12).margin(0.02));
  CHECK(part.mouth_mm() == Approx(52 + 25 * 0.1128).margin(0.2));  // growth after opening of that case
  CHECK(part.bites() == 1);
  REQUIRE(part.swaged().has_value());
  CHECK(part.swaged()->from_mm == Approx(2).margin(0.02));
}

TEST_CASE("The boundary mark stays by the bore end and the mouth moves away from it") {
  Part part(terminal(), rope());
  part.mark_boundary(52);
  part.mark_depth(52);
  part.insert_rope(0);
  CHECK(*part.boundary_to_mouth_mm() == Approx(52));
  CHECK(*part.depth_mark_to_mouth_mm() == Approx(0).margin(1e-9));
  squeeze(part, 2, 0);
  const double grown = part.mouth_mm() - 52;
  CHECK(grown > 2);
  CHECK(*part.boundary_mark_mm() == Approx(0).margin(1e-9));
  CHECK(*part.boundary_to_mouth_mm() == Approx(52 + grown));
  // The rope is held near the bore end, so the growing mouth passes over its mark; what is left after taking
  // the growth off is slip.
  CHECK(*part.depth_mark_to_mouth_mm() + grown == Approx(part.slip_mm()).margin(1e-9));
  CHECK(std::abs(part.slip_mm()) < 0.3);
}

TEST_CASE("Overlapping bites press only fresh metal and leave no length out") {
  Part part(terminal(), rope());
  part.insert_rope(0);
  squeeze(part, 2, 0);
  Part same = Part(terminal(), rope());
  same.insert_rope(0);
  squeeze(same, 2, 0);
  // Until the overlap's own flats are reached, only the fresh 20 mm of the second bite resist.
  part.start_bite(die, 22, 0);
  const double fresh = part.force_kn(0.2);
  CHECK(fresh < 25 * 4.4 * 0.9);
  CHECK(fresh > 20 * 4.0 * 0.9);
  part.reached(0);
  Random random(1);
  part.finish_bite(random);
  for (double at = 3; at < 46; at += 0.25) CHECK(part.width_mm(at, 1) < 8.05);
  // A bite repeated in the same place at the same angle changes nothing.
  const double mouth = same.mouth_mm();
  const auto before = same.slices();
  squeeze(same, 2, 0);
  CHECK(same.mouth_mm() == Approx(mouth).margin(0.05));
  CHECK(same.width_mm(10, 1) == Approx(8).margin(0.05));
}

TEST_CASE("An interrupted bite goes on where it stopped") {
  Part straight(terminal(), rope()), halting(terminal(), rope());
  straight.insert_rope(0);
  halting.insert_rope(0);
  const double force = squeeze(straight, 2, 0);
  squeeze(halting, 2, 0, 0.8);
  CHECK(halting.width_mm(10, 0) == Approx(7.95 + 0.8).margin(0.05));
  CHECK(squeeze(halting, 2, 0) == Approx(force).epsilon(0.03));
  CHECK(halting.mouth_mm() == Approx(straight.mouth_mm()).margin(0.15));
}

TEST_CASE("The quarter turn makes the shank longer, and the new flats are the ones that are measured") {
  Part part(terminal(), rope());
  part.insert_rope(0);
  squeeze(part, 2, 0);
  const double once = part.mouth_mm();
  squeeze(part, 2, 90);
  CHECK(part.mouth_mm() - once > 25 * 0.03);
  CHECK(part.mouth_mm() - once < 25 * 0.08);
  CHECK(part.width_mm(10, 0) == Approx(7.99).margin(0.03));
}

TEST_CASE("What the bore holds shows in the force: 1x19 > 7x7 > 7x19 > empty") {
  const auto force = [](double factor) {
    auto with = rope();
    with.metal_area_factor = factor > 0 ? factor : 0.418;
    Part part(terminal(), with);
    if (factor > 0) part.insert_rope(0);
    return squeeze(part, 2, 0);
  };
  const double strand = force(0.597), seven = force(0.432), nineteen = force(0.418), empty = force(0);
  CHECK(strand > seven);
  CHECK(seven > nineteen);
  CHECK(nineteen > empty);
  CHECK(empty / nineteen == Approx(2.0 / 3).margin(0.05));  // reference cases tube_empty and tube_7x19
}

TEST_CASE("A rope that is not home leaves an empty length that presses as an empty shank does") {
  Part part(terminal(), rope());
  part.insert_rope(15);
  const double mixed = squeeze(part, 2, 0);
  CHECK(mixed < 25 * 4.6);
  CHECK(mixed > 25 * 3.273);
  CHECK(mixed == Approx(13 * 3.273 + 12 * 4.748).epsilon(0.05));
}

TEST_CASE("A rope barely in the bore is pushed out when the shank is squeezed") {
  Part part(terminal(), rope());
  REQUIRE(part.insert_rope(44));
  part.mark_depth(52);
  squeeze(part, 26, 0);
  CHECK(part.slip_mm() > 0.8);
}

TEST_CASE("A die over solid metal needs much more force and bends the terminal") {
  Part good(terminal(), rope()), bad(terminal(), rope());
  good.insert_rope(0);
  bad.insert_rope(0);
  const double right = squeeze(good, 2, 0);
  const double wrong = squeeze(bad, -8, 0);
  CHECK(wrong > 1.08 * right);
  CHECK(bad.straightness_mm() > 0.5);
  CHECK(good.straightness_mm() < 0.1);
}

TEST_CASE("A die that hangs over the mouth presses only the shank that is there") {
  Part part(terminal(), rope());
  part.insert_rope(0);
  const double force = squeeze(part, 42, 0);
  CHECK(force == Approx(10 * 1.11 * 4.748).epsilon(0.06));
  CHECK(part.mouth_mm() > 52.9);
}

TEST_CASE("Flats that nearly repeat are folded sometimes, true quarter turns and true repeats never") {
  const auto lapped = [](double angle) {
    int laps = 0;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
      Part part(terminal(), rope());
      part.insert_rope(0);
      squeeze(part, 2, 0, 0, seed);
      squeeze(part, 2, angle, 0, seed + 1000);
      laps += part.surface() == SurfaceTruth::lapped;
    }
    return laps;
  };
  CHECK(lapped(90) == 0);
  CHECK(lapped(60) == 0);
  CHECK(lapped(68) > 5);
}

TEST_CASE("Too much squeezing cracks a brittle shank") {
  auto brittle = terminal();
  brittle.crack_strain = 0.15;
  Part part(brittle, rope());
  part.insert_rope(0);
  squeeze(part, 2, 0);
  CHECK(part.surface() == SurfaceTruth::cracked);
}

TEST_CASE("Once bitten the rope stays, and a rope too thick never goes in") {
  Part part(terminal(), rope());
  part.insert_rope(0);
  CHECK(part.pull_rope_out());
  CHECK(part.insert_rope(0));
  squeeze(part, 2, 0);
  CHECK_FALSE(part.pull_rope_out());
  CHECK_FALSE(part.insert_rope(3));
  CHECK(part.rope_in());
  auto thick = rope();
  thick.diameter_mm = 5.3;
  Part tight(terminal(), thick);
  CHECK_FALSE(tight.insert_rope(0));
  CHECK_FALSE(tight.rope_in());
}

TEST_CASE("A die far too small for the shank stops the press and leaves the shank as it was") {
  Part part(terminal(), rope());
  const DieTruth small{DieShape::hexagon, 5.0, 25};
  Random random(1);
  part.start_bite(small, 2, 0);
  CHECK(part.force_kn(9) == 0);
  CHECK(part.force_kn(5) > 500);
  part.reached(5);
  part.finish_bite(random);
  CHECK_FALSE(part.bitten());
}
