#include <array>
#include <catch2/catch.hpp>
#include <random>

#include "planning/cut_length.hpp"
#include "sample_job.hpp"

using namespace shankwright;
using namespace shankwright::planning;
using namespace shankwright::planning::tests;

namespace {

/// Makes the assembly on paper, step by step as the shop does, and measures it. Knows nothing of the formula:
/// places are kept along a line, the rope's own millimetres apart from the bench's.
double made_and_measured_mm(double cut_mm, const CutInputs& in) {
  // The rope lies at rest from 0 to cut_mm. Each terminal is pushed on until the rope's end is at its bore
  // end: the mouth then stands over the rope's millimetre `insertion`.
  double mouth_a = in.ends[0].insertion_mm;
  double mouth_b = cut_mm - in.ends[1].insertion_mm;
  double pin_a = mouth_a - in.ends[0].deduction_mm;
  double pin_b = mouth_b + in.ends[1].deduction_mm;
  // Swaging: the shank grows by G about the place where rope and shank stand still against each other. The
  // share s of it goes toward the pin and takes the solid end along, the rest pushes the mouth over the rope.
  pin_a -= in.ends[0].growth_share * in.ends[0].growth_mm;
  mouth_a += (1 - in.ends[0].growth_share) * in.ends[0].growth_mm;
  pin_b += in.ends[1].growth_share * in.ends[1].growth_mm;
  mouth_b -= (1 - in.ends[1].growth_share) * in.ends[1].growth_mm;
  // First load: the rope between the mouths beds in, then stretches. The terminals are stiff.
  const double between = (mouth_b - mouth_a) * (1 + in.constructional_stretch) * (1 + in.elastic_strain);
  return (mouth_a - pin_a) + between + (pin_b - mouth_b);
}

}  // namespace

TEST_CASE("An assembly made from the cut length has its pin-to-pin length at the stated tension") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const auto between = [&](double least, double most) {
    return std::uniform_real_distribution<>(least, most)(random);
  };
  for (int i = 0; i < 20000; ++i) {
    CutInputs in;
    in.pin_to_pin_mm = std::exp(between(std::log(50), std::log(1e5)));
    for (EndLengths& end : in.ends) end = {between(0, 300), between(0, 250), between(0, 40), between(0, 1)};
    in.elastic_strain = between(0, 0.01);
    in.constructional_stretch = between(0, 0.03);
    const double cut = cut_length_mm(in);
    CHECK(made_and_measured_mm(cut, in) == Approx(in.pin_to_pin_mm).epsilon(1e-12));
    // A millimetre more rope is a millimetre and its stretch more assembly.
    CHECK(made_and_measured_mm(cut + 1, in) - in.pin_to_pin_mm ==
          Approx((1 + in.elastic_strain) * (1 + in.constructional_stretch)).epsilon(1e-6));
  }
}

TEST_CASE("Growth that all goes to the mouth leaves the cut as it was, all the other way takes it off") {
  CutInputs in;
  in.pin_to_pin_mm = 1000;
  in.ends = {EndLengths{96, 64, 12, 0}, EndLengths{96, 64, 12, 0}};
  CHECK(cut_length_mm(in) == Approx(1000 - 2 * 96 + 2 * 64));
  for (EndLengths& end : in.ends) end.growth_share = 1;
  CHECK(cut_length_mm(in) == Approx(1000 - 2 * 96 + 2 * 64 - 2 * 12));
}

TEST_CASE("By default the rope's end stays at the bore end, and half the first bite is the bound") {
  recipe::JoinedRecipe joined = sample_recipe();
  // From 2 mm (where the swage length begins) to 1.5 + 43 mm: 42.5 of 62 mm.
  CHECK(default_growth_share(joined).most == Approx(42.5 / 62 / 2));
  CHECK(default_growth_share(joined).least == 0);
  CHECK(default_growth_share(joined).taken == 0);
  // One bite over the whole length: the rope stands still in its middle.
  joined.die_pair.length_mm = 90;
  CHECK(default_growth_share(joined).most == Approx(0.5));
}
