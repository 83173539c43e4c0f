#include "trial/run.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "bench_of_formulas.hpp"
#include "trial/report_text.hpp"
#include "trial/window.hpp"

using namespace shankwright;
using namespace shankwright::trial;
using prediction::Input;

TEST_CASE("The same seed gives the same answer to the last bit on one, two and three threads") {
  Request request = tests::a_request();
  std::string first;
  for (const unsigned threads : {1U, 2U, 3U}) {
    request.threads = threads;
    const std::string answer = to_json(run(request));
    if (first.empty()) first = answer;
    CHECK(answer == first);
  }
  request.seed += 1;
  CHECK(to_json(run(request)) != first);
}

TEST_CASE("More force closes more dies, and fewer fittings are rejected until all close") {
  const Report report = run(tests::a_request());
  REQUIRE(report.rows.size() > 10);
  const double limit_kn = report.window.force_limit_kn_max / (1 + 0.015);  // overshoot
  for (std::size_t i = 1; i < report.rows.size(); ++i) {
    CHECK(report.rows[i].target_kn > report.rows[i - 1].target_kn);
    CHECK(report.rows[i].closed >= report.rows[i - 1].closed);
    if (report.rows[i].target_kn < limit_kn) CHECK(report.rows[i].rejected <= report.rows[i - 1].rejected);
  }
  CHECK(report.rows.front().closed == 0);
  CHECK(report.rows.back().closed == report.fittings);
  CHECK(report.rows.back().causes[static_cast<std::size_t>(Cause::force_limit)] == report.fittings);
}

TEST_CASE("Causes, closed and rejected add up in every row, inside their exact limits") {
  const Report report = run(tests::a_request());
  for (const ForceRow& row : rows_in_order(report)) {
    std::size_t sum = 0;
    for (const std::size_t count : row.causes) sum += count;
    CHECK(sum == row.fittings);
    CHECK(row.rejected == row.fittings - row.causes[0]);
    const auto n = static_cast<double>(row.fittings);
    CHECK(row.rejected_share.holds(static_cast<double>(row.rejected) / n));
    CHECK(row.closed_share.holds(static_cast<double>(row.closed) / n));
  }
}

TEST_CASE("Shares of the variance are those that one input at a time moves") {
  Request request = tests::a_request();
  request.fittings = 20000;
  const Report report = run(request);
  // The formulas have no interaction to speak of, so moving one input over its scatter and holding the others
  // at their middle gives its share.
  const Bench& bench = request.bench;
  Drawn middle;
  for (std::size_t s = 0; s < scatter_count; ++s) middle.values[s] = bench.scatters[s].centre;
  const double at_kn = report.sensitivity.at_kn;
  std::array<double, scatter_count> of_size{}, of_force{}, of_growth{};
  double all_size = 0, all_force = 0, all_growth = 0;
  for (std::size_t s = 0; s < scatter_count; ++s) {
    std::vector<double> sizes, forces, growths;
    constexpr int steps = 400;
    for (int i = 0; i < steps; ++i) {
      Drawn drawn = middle;
      drawn.values[s] = value_at(bench.scatters[s], (i + 0.5) / steps);
      const auto curves = bench.predict(drawn.part(), {});
      const Pressed pressed = press(bench, drawn, curves, at_kn);
      sizes.push_back(pressed.across_flats_mm + drawn[PressInput::size_gauge]);
      growths.push_back(pressed.growth);
      forces.push_back(target_needed_kn(bench, drawn, curves));
    }
    of_size[s] = std::pow(moments(sizes).deviation, 2);
    of_growth[s] = std::pow(moments(growths).deviation, 2);
    of_force[s] = std::pow(moments(forces).deviation, 2);
    all_size += of_size[s];
    all_growth += of_growth[s];
    all_force += of_force[s];
  }
  for (std::size_t s = 0; s < scatter_count; ++s) {
    INFO(name_of(s));
    CHECK(report.sensitivity.across_flats[s] == Approx(of_size[s] / all_size).margin(0.015));
    CHECK(report.sensitivity.growth[s] == Approx(of_growth[s] / all_growth).margin(0.015));
    CHECK(report.sensitivity.force[s] == Approx(of_force[s] / all_force).margin(0.015));
  }
  // What the formulas say without any arithmetic: growth hangs on the shank's diameter alone.
  CHECK(ranked(report, report.sensitivity.growth).front() == static_cast<std::size_t>(Input::shank_diameter));
  CHECK(report.sensitivity.growth[static_cast<std::size_t>(Input::shank_diameter)] > 0.97);
}

TEST_CASE("The histogram holds every fitting whose dies closed, and the fans rise as the dies close") {
  const Report report = run(tests::a_request());
  std::size_t sum = 0;
  for (const std::size_t count : report.across_flats.counts) sum += count;
  REQUIRE(report.recommended);
  CHECK(sum == report.recommended->closed);
  REQUIRE(report.fans.size() == 2);
  for (const Fan& fan : report.fans)
    for (std::size_t g = 0; g < fan.gap_mm.size(); ++g) {
      CHECK(fan.low_kn[g] <= fan.mid_kn[g]);
      CHECK(fan.mid_kn[g] <= fan.high_kn[g]);
      if (g > 0) CHECK(fan.mid_kn[g] >= fan.mid_kn[g - 1]);
    }
}

TEST_CASE("The corner part asks for more than any part of the population") {
  const Request request = tests::a_request();
  const prediction::Part corner = request.corner;
  CHECK(corner[Input::grip] == 1);
  const auto& strength = request.bench.scatters[static_cast<std::size_t>(Input::strength)];
  CHECK(corner[Input::strength] == Approx(strength.centre + strength.half_width));
  const double gap_mm = sure_gap_mm(request.bench);
  CHECK(gap_mm == Approx(0.04));  // closed gap 0.05 mm less the sensor's 0.01 mm
  const double most = request.bench.predict(corner, {}).front().force_at(gap_mm);
  for (std::uint64_t i = 0; i < 500; ++i)
    CHECK(request.bench.predict(draw(request.bench.scatters, 3, i).part(), {}).front().force_at(gap_mm) <=
          most);
}

TEST_CASE("The error of the surface is looked up at the gap where it counts") {
  prediction::SurfaceError error;
  error.force = 0.4;
  CHECK(force_error_at(error, 0, 0) == 0.4);  // older surfaces tell one figure only
  error.force_by_gap = {{0, 0.3, 0.1, 0.02, 0.01}};
  CHECK(force_error_at(error, 0, 0) == 0.01);
  CHECK(force_error_at(error, 0, 0.75) == 0.3);
  CHECK(force_error_at(error, 0, 0.6) == 0.3);
  CHECK(force_error_at(error, 0, 0.3) == 0.1);
  CHECK(force_error_at(error, 1, 0) == 0.4);
}
