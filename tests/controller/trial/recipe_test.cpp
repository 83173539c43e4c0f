#include <catch2/catch.hpp>
#include <cmath>

#include "bench_of_formulas.hpp"
#include "trial/draft.hpp"

using namespace shankwright;
using namespace shankwright::trial;

/// The shipped recipe over the real section model: one test of the whole, since it costs some seconds.
TEST_CASE("A trial of a shipped recipe finds a window, and single runs of the section agree with it") {
  const library::Library shipped = library::load(SOURCE_DIR "/recipes");
  const auto joined = library::join(shipped, "straight-shank-3-16-7x19");
  REQUIRE(joined.ok());
  prediction::SurfaceSetting setting;
  setting.joined = joined.value();
  setting.filling = prediction::filling_of(setting.joined);
  setting.population = prediction::population_of(setting.joined);
  setting.passes = setting.joined.recipe.passes;
  setting.threads = 2;
  const auto surface = prediction::Surface::build(setting);
  REQUIRE(surface.ok());
  Request request;
  request.bench = bench_of(
      setting.joined,
      [&](const prediction::Part& part, const std::vector<double>& stops) {
        return surface.value().predict(part, stops);
      },
      setting.population);
  request.model_error = surface.value().error();
  request.envelope_gaps_mm = envelope_gaps_mm(request.bench);
  request.fittings = 4000;
  const Report report = run(request);
  REQUIRE_FALSE(report.window.empty);
  CHECK(report.closing_error < 0.03);

  // Brute force: parts of the population through the section itself. The dies must close at the window's
  // lower end.
  for (const std::uint64_t fitting : {11U, 12U, 13U}) {
    const Drawn drawn = press_against(request.bench.scatters, draw(request.bench.scatters, 5, fitting));
    auto input = prediction::squeeze_input(setting.joined, setting.filling, drawn.part());
    input.fineness = mechanics::Fineness::coarse;
    const auto course = mechanics::squeeze(input, {sure_gap_mm(request.bench)});
    REQUIRE(course.ok());
    double most_n_per_mm = 0;
    for (const auto& point : course.value().points)
      if (point.gap_mm > 0) most_n_per_mm = std::max(most_n_per_mm, point.force_n_per_mm);
    const double by_section_kn = most_n_per_mm * 33 / 1000 / 0.975 * 1.005;
    const double by_surface_kn =
        target_needed_kn(request.bench, drawn, surface.value().predict(drawn.part()));
    CHECK(by_surface_kn == Approx(by_section_kn).epsilon(0.03));
    CHECK(by_section_kn < report.window.population_kn * 1.001);
  }
}
