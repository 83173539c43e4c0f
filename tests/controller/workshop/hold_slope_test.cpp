#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "workshop/hold_slope.hpp"

// Goal: a press that loses pressure while it holds is seen to, by the right amount. Method: traces made of a
// rise, a hold with a known slope, and a fall.
using namespace shankwright;
using workshop::hold_slope;

namespace {

std::vector<ports::Sample> bite(double bar_per_min, double scatter_bar = 0, std::uint32_t hold_ms = 500,
                                std::uint32_t seed = 1) {
  std::mt19937 dice(seed);
  std::normal_distribution<double> noise(0, 1);
  std::vector<ports::Sample> out;
  std::uint32_t t = 0;
  for (; t < 1200; t += 2) out.push_back({t, 164. * t / 1200, 2.4 - t * 0.002});
  for (const std::uint32_t begun = t; t < begun + hold_ms; t += 2)
    out.push_back({t, 164 + bar_per_min * (t - begun) / 60'000. + scatter_bar * noise(dice), 0});
  for (std::uint32_t i = 0; i < 100; ++i, t += 2) out.push_back({t, 8, 0.05 * i});
  return out;
}

}  // namespace

TEST_CASE("the slope of a hold is what the oil loses, whatever comes before and after") {
  for (const double slope : {0., -30., -120., 15.}) {
    const auto found = hold_slope(bite(slope));
    REQUIRE(found);
    CHECK(found->bar_per_min == Approx(slope).margin(0.01));
    CHECK(found->mean_bar == Approx(164).margin(1));
    CHECK(found->held_ms == Approx(450).margin(15));
  }
}

TEST_CASE("the error told with a slope covers the slope as often as twice a standard error should") {
  int covered = 0;
  for (std::uint32_t seed = 1; seed <= 200; ++seed) {
    const auto found = hold_slope(bite(-20, 0.2, 500, seed));
    REQUIRE(found);
    CHECK(found->bar_per_min_error > 0);
    covered += std::abs(found->bar_per_min + 20) <= found->bar_per_min_error ? 1 : 0;
  }
  INFO(covered << " of 200");
  CHECK(covered >=
        180);  // 95.4 % of 200 is 191; the beginning of a hold, cut off by its peak, costs a little
}

TEST_CASE("a hold too short to tell anything tells nothing") {
  CHECK_FALSE(hold_slope({}));
  CHECK_FALSE(hold_slope(bite(0, 0, 200)));
  CHECK(hold_slope(bite(0, 0, 300)));
}
