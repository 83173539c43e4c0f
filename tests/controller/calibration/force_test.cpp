#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "calibration/force.hpp"

// Goal: a press gets the class that its readings earn, and none while a reading is missing. Method: an
// example worked by hand; each limit of ISO 7500-1:2015 table 2 from either side; properties over random
// readings, whose seed is printed.
using namespace shankwright::calibration;

namespace {

/// A press that indicates (1 + error) times the true force, by run.
ForceSeries press_that_errs(const std::vector<double>& error_percent_by_run, double range_kn = 600) {
  ForceSeries series{range_kn, range_kn / 2000, {}};
  double angle_deg = 0;
  double position_mm = 10;
  for (const double error : error_percent_by_run) {
    ForceRun run;
    run.cell_angle_deg = angle_deg;
    run.ram_position_mm = position_mm;
    for (const double target : step_targets_kn(range_kn, 5))
      run.readings.push_back({target, target / (1 + error / 100)});
    run.zero_kn = 0;
    series.runs.push_back(run);
    angle_deg += 120;
    position_mm += 5;
  }
  return series;
}

bool tells(const ForceResult& result, Shortfall what) {
  return std::find(result.shortfalls.begin(), result.shortfalls.end(), what) != result.shortfalls.end();
}

}  // namespace

TEST_CASE("an example worked by hand") {
  // Fi = 100 kN in three runs; the cell reads 99.5, 99.0 and 100.2 kN.
  //   q1 = 100 (100 -  99.5) /  99.5 =  0.502513 %
  //   q2 = 100 (100 -  99.0) /  99.0 =  1.010101 %
  //   q3 = 100 (100 - 100.2) / 100.2 = -0.199601 %
  //   q  = (0.502513 + 1.010101 - 0.199601) / 3 = 0.437671 %,  b = 1.010101 + 0.199601 = 1.209702 %
  //   a  = 100 x 0.5 / 100 = 0.5 %;  class 1 by q and a, class 2 by b.
  ForceSeries series{500, 0.5, {}};
  const double cell[3] = {99.5, 99.0, 100.2};
  for (int run = 0; run < 3; ++run) {
    ForceRun one;
    one.cell_angle_deg = run * 120;
    for (const double target : step_targets_kn(500, 5)) one.readings.push_back({target, target});
    one.readings.front() = {100, cell[run]};
    one.zero_kn = run == 1 ? -0.6 : 0.2;
    series.runs.push_back(one);
  }
  const ForceResult result = judge(series);
  REQUIRE(result.steps.size() == 5);
  const ForceStep& first = result.steps.front();
  CHECK(first.indicated_kn == Approx(100));
  CHECK(first.q_percent[0] == Approx(0.502513).epsilon(1e-5));
  CHECK(first.q_percent[1] == Approx(1.010101).epsilon(1e-5));
  CHECK(first.q_percent[2] == Approx(-0.199601).epsilon(1e-5));
  CHECK(first.q_mean_percent == Approx(0.437671).epsilon(1e-5));
  CHECK(first.b_percent == Approx(1.209702).epsilon(1e-5));
  CHECK(first.a_percent == Approx(0.5));
  CHECK(first.of == ForceClass::two);
  CHECK(result.steps.back().of == ForceClass::half);
  // f0 = 100 x (-0.6) / 500 = -0.12 %, the greatest of the runs: class 2 (0.2 %).
  CHECK(result.f0_percent == Approx(-0.12));
  CHECK(result.of == ForceClass::two);
  CHECK(result.shortfalls.empty());
  CHECK_FALSE(result.ram_moved_between_runs);  // nobody noted where the ram was
}

TEST_CASE("each limit of the class table holds on the limit and not just beyond") {
  // ISO 7500-1:2015, table 2: q, b, f0, a of classes 0.5, 1, 2, 3 (values from secondary sources).
  const double q[4] = {0.5, 1, 2, 3}, f0[4] = {0.05, 0.1, 0.2, 0.3}, a[4] = {0.25, 0.5, 1, 1.5};
  const ForceClass classes[5] = {ForceClass::half, ForceClass::one, ForceClass::two, ForceClass::three,
                                 ForceClass::none};
  for (int i = 0; i < 4; ++i) {
    INFO("class " << name_of(classes[i]));
    for (const double sign : {1., -1.}) {
      CHECK(judge(press_that_errs({sign * q[i], sign * q[i], sign * q[i]})).of == classes[i]);
      const double beyond = sign * q[i] * 1.001;
      CHECK(judge(press_that_errs({beyond, beyond, beyond})).of == classes[i + 1]);
      auto zero = press_that_errs({0, 0, 0});
      zero.runs[1].zero_kn = sign * f0[i] / 100 * zero.range_kn;
      CHECK(judge(zero).of == classes[i]);
      zero.runs[1].zero_kn = sign * f0[i] / 100 * zero.range_kn * 1.001;
      CHECK(judge(zero).of == classes[i + 1]);
    }
    CHECK(judge(press_that_errs({-q[i] / 2, q[i] / 2, 0})).of == classes[i]);  // b has the limits of q
    CHECK(judge(press_that_errs({-q[i] / 2, q[i] / 2 * 1.002, 0})).of == classes[i + 1]);
    auto coarse = press_that_errs({0, 0, 0});
    coarse.resolution_kn = a[i] / 100 * 0.2 * coarse.range_kn;
    CHECK(judge(coarse).of == classes[i]);
    coarse.resolution_kn *= 1.001;
    CHECK(judge(coarse).of == classes[i + 1]);
  }
}

TEST_CASE("no class while something is short, and all of it is told") {
  const auto good = press_that_errs({0.1, 0.1, 0.1});
  REQUIRE(judge(good).of == ForceClass::half);
  CHECK(judge(good).ram_moved_between_runs);

  const auto spoilt = [&](auto&& change) {
    ForceSeries series = good;
    change(series);
    const ForceResult result = judge(series);
    CHECK(result.of == ForceClass::none);
    return result;
  };
  CHECK(tells(spoilt([](auto& s) { s.runs.pop_back(); }), Shortfall::too_few_runs));
  CHECK(tells(spoilt([](auto& s) {
                for (auto& run : s.runs) run.readings.erase(run.readings.begin() + 2);
              }),
              Shortfall::too_few_steps));
  CHECK(tells(spoilt([](auto& s) {
                s.runs[0].readings.front() = {0.23 * 600, 0.23 * 600};
              }),
              Shortfall::first_step_high));
  CHECK(tells(spoilt([](auto& s) {
                s.runs[2].readings.back() = {0.97 * 600, 0.97 * 600};
              }),
              Shortfall::last_step_low));
  CHECK(tells(spoilt([](auto& s) { std::swap(s.runs[1].readings[1], s.runs[1].readings[2]); }),
              Shortfall::forces_not_rising));
  CHECK(tells(spoilt([](auto& s) { s.runs[1].readings[2].indicated_kn += 30; }), Shortfall::runs_not_alike));
  CHECK(tells(spoilt([](auto& s) { s.runs[2].zero_kn.reset(); }), Shortfall::zero_missing));
  CHECK(tells(spoilt([](auto& s) {
                for (auto& run : s.runs) run.cell_angle_deg = 0;
              }),
              Shortfall::cell_not_turned));
  CHECK(tells(spoilt([](auto& s) {
                for (auto& run : s.runs) run.cell_angle_deg = &run == &s.runs[1] ? 345 : 0;
              }),
              Shortfall::cell_not_turned));  // 15 degrees, the short way
  CHECK(tells(spoilt([](auto& s) { s.runs[0].readings[0].cell_kn = 0; }), Shortfall::cell_reads_nothing));
  CHECK(tells(spoilt([](auto& s) { s.range_kn = 0; }), Shortfall::no_range));
  CHECK(tells(spoilt([](auto& s) { s.resolution_kn = 0; }), Shortfall::no_resolution));
  CHECK(judge({}).shortfalls.size() == 4);  // range, resolution, runs, steps
}

TEST_CASE("where the ram stood is judged by the runs that are closest together") {
  auto series = press_that_errs({0, 0, 0});
  series.runs[2].ram_position_mm = *series.runs[1].ram_position_mm + 1.9;
  CHECK_FALSE(judge(series).ram_moved_between_runs);
  series.runs[2].ram_position_mm = *series.runs[1].ram_position_mm + 2;
  CHECK(judge(series).ram_moved_between_runs);
  series.runs[0].ram_position_mm.reset();
  CHECK_FALSE(judge(series).ram_moved_between_runs);
}

TEST_CASE("a greater unit, another order of runs and a turned cell leave the errors as they are") {
  const std::uint32_t seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 dice(seed);
  std::uniform_real_distribution<double> error(-4, 4);
  for (int round = 0; round < 200; ++round) {
    const ForceSeries series = press_that_errs({error(dice), error(dice), error(dice)});
    const ForceResult result = judge(series);
    ForceSeries other = series;
    std::rotate(other.runs.begin(), other.runs.begin() + 1, other.runs.end());
    other.range_kn *= 1000;
    other.resolution_kn *= 1000;
    for (auto& run : other.runs) {
      run.cell_angle_deg += 77;
      for (auto& reading : run.readings) {
        reading.indicated_kn *= 1000;
        reading.cell_kn *= 1000;
      }
    }
    const ForceResult same = judge(other);
    CHECK(same.of == result.of);
    for (std::size_t i = 0; i < result.steps.size(); ++i) {
      CHECK(same.steps[i].q_mean_percent == Approx(result.steps[i].q_mean_percent).margin(1e-9));
      CHECK(same.steps[i].b_percent == Approx(result.steps[i].b_percent).margin(1e-9));
      CHECK(result.steps[i].b_percent >= 0);
    }
  }
}

TEST_CASE("a press never gains a class by erring more") {
  ForceClass before = ForceClass::half;
  for (double error = 0; error < 5; error += 0.05) {
    const ForceClass now = judge(press_that_errs({error, error, error})).of;
    CHECK(now >= before);
    before = now;
  }
  CHECK(before == ForceClass::none);
}

TEST_CASE("steps go from 20 % to the whole range, and a class is good enough when no worse than needed") {
  const auto targets_kn = step_targets_kn(600, 5);
  const double by_hand_kn[5] = {120, 240, 360, 480, 600};
  REQUIRE(targets_kn.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) CHECK(targets_kn[i] == Approx(by_hand_kn[i]));
  CHECK(step_targets_kn(600, 2).size() == 5);
  CHECK(step_targets_kn(1000, 9).front() == Approx(200));
  CHECK(good_enough(ForceClass::half, ForceClass::one));
  CHECK(good_enough(ForceClass::one, ForceClass::one));
  CHECK_FALSE(good_enough(ForceClass::two, ForceClass::one));
  CHECK_FALSE(good_enough(ForceClass::none, ForceClass::three));
  CHECK_FALSE(good_enough(ForceClass::none, ForceClass::none));
  for (const char* name : {"0.5", "1", "2", "3", "none"}) CHECK(name_of(*class_named(name)) == name);
  CHECK_FALSE(class_named("1.0"));
}
