#include "trial/window.hpp"

#include <catch2/catch.hpp>

#include "bench_of_formulas.hpp"
#include "trial/report_text.hpp"
#include "trial/run.hpp"

using namespace shankwright;
using namespace shankwright::trial;

namespace {

/// hex-3-16: rated 400 kN; press-1: 1471 kN. 33 mm of fresh shank in both passes.
Window window(std::vector<double> against_kn, std::vector<double> corner_n_per_mm = {},
              double force_error = 0, double rated_kn = 400, double capacity_kn = 1471) {
  Bench bench = tests::a_request().bench;
  bench.joined.die_pair.rated_force_kn = rated_kn;
  bench.joined.press.capacity_kn = capacity_kn;
  bench.ceiling_kn = ceiling_kn(bench.joined);
  return window_of(bench, against_kn, corner_n_per_mm, force_error);
}

}  // namespace

TEST_CASE("The window begins where 99.9 % of the fittings close and ends below the die's rating") {
  std::vector<double> against_kn(9991, 200);
  against_kn.insert(against_kn.end(), 9, 300);  // the last thousandth
  const Window found = window(against_kn);
  CHECK(found.population_kn == Approx(200).margin(0.2));
  CHECK(window(against_kn, {}, 0.02).population_kn == Approx(204).margin(0.2));
  CHECK(found.upper_kn == Approx(400 / 1.08));
  CHECK(found.upper_end == UpperEnd::die_rating);
  CHECK_FALSE(found.empty);
  CHECK(found.recommended_kn == 216);
  CHECK(found.margin_held);
}

TEST_CASE("The corner part is shown beside the window and does not move it") {
  const std::vector<double> against_kn(100, 200);
  // 33 mm, seal friction 2.5 %, pressure read 0.5 % too high.
  const Window closes = window(against_kn, {6000, 6100});
  REQUIRE(closes.corner_kn);
  CHECK(*closes.corner_kn == Approx(6.1 * 33 * 1.005 / 0.975));
  CHECK(closes.corner_closes);
  const Window does_not = window(against_kn, {9000, 6000});
  CHECK_FALSE(does_not.corner_closes);
  CHECK(does_not.recommended_kn == closes.recommended_kn);
  CHECK_FALSE(window(against_kn).corner_kn);
}

TEST_CASE("The press's margin of 15 % is kept, given up where it must be, and said to be") {
  const std::vector<double> against_kn(100, 300);
  const Window kept = window(against_kn, {}, 0, 2000, 400);
  CHECK(kept.upper_kn == Approx(340));
  CHECK(kept.upper_end == UpperEnd::press_capacity);
  CHECK(kept.margin_held);
  CHECK(kept.recommended_kn == 324);
  const Window given_up = window(against_kn, {}, 0, 2000, 340);
  CHECK_FALSE(given_up.margin_held);
  CHECK(given_up.upper_kn == Approx(340 / 1.08));
  CHECK_FALSE(given_up.empty);
  CHECK(given_up.recommended_kn == 314);
}

TEST_CASE("Where no force will do, the window is empty and says why") {
  const Window none = window(std::vector<double>(100, 390));
  CHECK(none.empty);
  CHECK(none.recommended_kn == 0);
  CHECK(none.upper_end == UpperEnd::die_rating);

  Request request = tests::a_request({.closing_n_per_mm = 14000});
  const Report report = run(request);
  REQUIRE(report.window.empty);
  CHECK_FALSE(report.recommended);
  CHECK_THAT(to_text(report), Catch::Contains("No force will do") && Catch::Contains("die rating"));
  CHECK_THAT(to_json(report), Catch::Contains("why_empty"));
}

TEST_CASE("At the recommended force at least 99.9 % of simulated fittings close") {
  const Report report = run(tests::a_request());
  REQUIRE(report.recommended);
  CHECK(static_cast<double>(report.recommended->closed) >= 0.999 * static_cast<double>(report.fittings));
}

TEST_CASE("Forces are rounded up to what a person would set") {
  CHECK(settable_kn(200.01) == 201);
  CHECK(settable_kn(200) == 200);
  CHECK(settable_kn(12.3) == 12.5);
}
