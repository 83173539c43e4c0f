#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "library/library.hpp"
#include "prediction/surface.hpp"

using namespace shankwright;
using namespace shankwright::prediction;

namespace {

recipe::JoinedRecipe joined() {
  static const auto library = library::load(SOURCE_DIR "/recipes");
  return library::join(library, "straight-shank-3-16-7x19").value();
}

SurfaceSetting setting(unsigned threads) {
  SurfaceSetting out;
  out.joined = joined();
  out.filling = filling_of(out.joined);
  out.population = population_of(out.joined);
  out.threads = threads;
  return out;
}

const Surface& surface() {
  static const Surface built = Surface::build(setting(2)).value();
  return built;
}

}  // namespace

TEST_CASE("At the middle of the tolerances the surface is the section's own run", "[prediction]") {
  const Part middle = surface().setting().population.centre();
  const auto curves = surface().predict(middle);
  mechanics::SqueezeInput input = squeeze_input(joined(), filling_of(joined()), middle);
  input.fineness = mechanics::Fineness::coarse;
  const auto course = mechanics::squeeze(input, {0.5, 0.2}).value();
  REQUIRE(curves.size() == 2);
  for (const auto& point : course.points)
    CHECK(curves[static_cast<std::size_t>(point.pass - 1)].force_at(point.gap_mm) ==
          Approx(point.force_n_per_mm).epsilon(0.015));
  for (const auto& pass : course.after) {
    const PassCurve& curve = curves[static_cast<std::size_t>(pass.pass - 1)];
    CHECK(curve.touch_gap_mm == Approx(pass.touch_gap_mm).margin(0.002));
    CHECK(curve.growth_at(0) - curve.growth_recoil == Approx(pass.growth).margin(0.001));
  }
}

TEST_CASE("For parts drawn from the tolerances the surface repeats what the section does", "[prediction]") {
  const std::uint64_t seed = 7;
  INFO("seed " << seed);
  std::mt19937_64 dice(seed);
  std::uniform_real_distribution<double> spread(-1, 1);
  for (int i = 0; i < 4; ++i) {
    Part part = surface().setting().population.centre();
    for (std::size_t k = 0; k < input_count; ++k)
      part.values[k] += spread(dice) * surface().setting().population.inputs[k].half_width;
    mechanics::SqueezeInput input = squeeze_input(joined(), filling_of(joined()), part);
    const auto course = mechanics::squeeze(input, {0.5, 0.2}).value();
    const auto curves = surface().predict(part);
    for (const auto& point : course.points)
      CHECK(curves[static_cast<std::size_t>(point.pass - 1)].force_at(point.gap_mm) ==
            Approx(point.force_n_per_mm).epsilon(0.045));
    CHECK(curves[1].growth_at(0) - curves[1].growth_recoil == Approx(course.after[1].growth).margin(0.004));
  }
}

TEST_CASE("The surface is the same on any number of threads", "[prediction]") {
  const Surface alone = Surface::build(setting(1)).value();
  Part part = alone.setting().population.centre();
  part[Input::friction] -= 0.03;
  part[Input::grip] += 0.05;
  const auto one = alone.predict(part);
  const auto two = surface().predict(part);
  REQUIRE(one.size() == two.size());
  for (std::size_t p = 0; p < one.size(); ++p) {
    CHECK(one[p].force_n_per_mm == two[p].force_n_per_mm);
    CHECK(one[p].growth_loaded == two[p].growth_loaded);
  }
}

TEST_CASE("The surface knows how wrong it is on parts it was not fitted to", "[prediction]") {
  const SurfaceError error = surface().error();
  INFO("force " << error.force << ", growth " << error.growth << ", width " << error.width_mm);
  CHECK(error.force > 0);
  CHECK(error.force < 0.03);
  CHECK(error.growth < 0.003);
  CHECK(error.width_mm < 0.015);
}

TEST_CASE("More metal, more strength, more friction, more grip and smaller dies all ask for more force",
          "[prediction]") {
  const Part middle = surface().setting().population.centre();
  const double force = surface().predict(middle)[0].force_at(0.1);
  for (const Input input :
       {Input::shank_diameter, Input::rope_diameter, Input::strength, Input::friction, Input::grip}) {
    Part part = middle;
    part[input] += surface().setting().population[input].half_width;
    INFO("input " << static_cast<int>(input));
    CHECK(surface().predict(part)[0].force_at(0.1) > force);
  }
  for (const Input input : {Input::bore, Input::across_flats}) {
    Part part = middle;
    part[input] += surface().setting().population[input].half_width;
    INFO("input " << static_cast<int>(input));
    CHECK(surface().predict(part)[0].force_at(0.1) < force);
  }
}

TEST_CASE("The gap a force leaves is the gap at which that force is needed", "[prediction]") {
  const PassCurve curve = surface().predict(surface().setting().population.centre())[0];
  for (const double gap : {1.0, 0.5, 0.2, 0.05})
    CHECK(curve.gap_at(curve.force_at(gap)) == Approx(gap).margin(0.01));
  CHECK(curve.gap_at(1e6) == 0);
  CHECK(curve.gap_at(0) == Approx(curve.touch_gap_mm).margin(0.1));
  CHECK(curve.force_at(curve.touch_gap_mm + 0.1) == 0);
}

TEST_CASE("A first pass that stopped short is caught up by the second, which then meets more metal",
          "[prediction]") {
  const Part middle = surface().setting().population.centre();
  const auto closed = surface().predict(middle);
  const auto short_of = surface().predict(middle, {0.2});
  CHECK(short_of[1].touch_gap_mm > closed[1].touch_gap_mm);
  CHECK(short_of[0].force_n_per_mm == closed[0].force_n_per_mm);
}
