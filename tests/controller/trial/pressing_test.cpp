#include "trial/pressing.hpp"

#include <catch2/catch.hpp>

#include "bench_of_formulas.hpp"
#include "trial/engaged.hpp"

using namespace shankwright;
using namespace shankwright::trial;
using prediction::Input;

namespace {

/// The middle of everything: a press and gauges without error.
Drawn middle(const Bench& bench) {
  Drawn drawn;
  for (std::size_t s = 0; s < scatter_count; ++s) drawn.values[s] = bench.scatters[s].centre;
  for (const PressInput input : {PressInput::seal_friction, PressInput::overshoot})
    drawn.values[index_of(input)] = 0;
  return drawn;
}

struct Shop {
  Bench bench = tests::a_request().bench;
  Drawn drawn = middle(bench);
  Pressed at(double target_kn) const {
    return press(bench, drawn, bench.predict(drawn.part(), {}), target_kn);
  }
};

}  // namespace

TEST_CASE("The force that stops the dies is force per mm times the fresh length under them") {
  Shop shop;
  // 6000 N/mm at closing over the 33 mm die: 198 kN; at the closed gap of 0.05 mm, one twentieth less.
  REQUIRE(shop.bench.engaged_mm.size() == 2);
  CHECK(shop.bench.engaged_mm[0] == Approx(33));
  const double needed_kn =
      target_needed_kn(shop.bench, shop.drawn, shop.bench.predict(shop.drawn.part(), {}));
  CHECK(needed_kn == Approx(198 * 0.95));
  CHECK(shop.at(needed_kn + 0.1).closed);
  CHECK_FALSE(shop.at(needed_kn - 0.1).closed);
  CHECK(shop.at(needed_kn - 0.1).cause == Cause::first_not_closed);
}

TEST_CASE("Friction of the seals and a sensor that reads too much ask for that much more") {
  Shop shop;
  const auto needed = [&] {
    return target_needed_kn(shop.bench, shop.drawn, shop.bench.predict(shop.drawn.part(), {}));
  };
  const double without = needed();
  shop.drawn.values[index_of(PressInput::seal_friction)] = 0.02;
  CHECK(needed() == Approx(without / 0.98));
  shop.drawn.values[index_of(PressInput::pressure_sensor)] = 0.01;
  CHECK(needed() == Approx(without / 0.98 * 1.01));
  const Drawn against = press_against(shop.bench.scatters, shop.drawn);
  CHECK(target_needed_kn(shop.bench, against, shop.bench.predict(shop.drawn.part(), {})) > needed());
}

TEST_CASE("Across flats is the die, its opening under the shank's force, the recoil and what gap is left") {
  Shop shop;
  const double die_mm = shop.drawn.values[static_cast<std::size_t>(Input::across_flats)];
  // Lame ring, ratio 3, by hand: (10/8 + 0.3) 5400 N/mm / 210000 MPa = 0.0399 mm in the second pass.
  CHECK(die_opening_mm(5400) == Approx(1.55 * 5400 / 210000));
  const Pressed pressed = shop.at(260);
  REQUIRE(pressed.closed);
  CHECK(pressed.across_flats_mm == Approx(die_mm + 0.03 + die_opening_mm(5400)));
  CHECK(pressed.narrowest_mm == Approx(pressed.across_flats_mm));
  // At half closed gap the base flats stay wider by the whole gap, the side flats by half of it.
  const Pressed barely = shop.at(198 * 0.975);
  REQUIRE(barely.closed);
  CHECK(barely.across_flats_mm == Approx(pressed.across_flats_mm));  // the second pass needs nine tenths
  const Pressed half = [&] {
    Shop other;
    other.bench.engaged_mm[1] *= 1 / 0.9;  // now it needs as much as the first
    return other.at(198 * 0.975);
  }();
  REQUIRE(half.closed);
  CHECK(half.across_flats_mm == Approx(die_mm + 0.025 + 0.03 + die_opening_mm(5400 * 0.975)));
  CHECK(half.narrowest_mm == Approx(die_mm + 0.0125 + 0.03 + die_opening_mm(5400 * 0.975)));
}

TEST_CASE("Growth is what the mouth moves over the swage length, after release") {
  Shop shop;
  const Pressed pressed = shop.at(260);
  const double shank_mm = shop.drawn.values[static_cast<std::size_t>(Input::shank_diameter)];
  const double share = pressed_share(shop.bench.joined);
  // Bore depth 2.011 in, clearance 1.5 mm, swage length 1.938 in.
  CHECK(share == Approx((2.011 * 25.4 - 1.5) / (1.938 * 25.4)));
  CHECK(pressed.growth == Approx(share * (0.20 + 0.2 * (shank_mm - 9.1186))));
  CHECK(pressed.second_pass_growth == Approx(share * 0.05));
}

TEST_CASE("A fitting is judged as the procedure judges it, the gauge's uncertainty off both limits") {
  // Across flats of the shop: the limits are moved about the value. U is 0.004 mm.
  Shop shop;
  const double size_mm = shop.at(260).across_flats_mm;
  const auto verdict = [&](double least, double most) {
    Shop other;
    other.bench.joined.recipe.across_flats_mm = {least, most};
    return other.at(260).cause;
  };
  CHECK(verdict(size_mm - 0.1, size_mm + 0.0041) == Cause::none);
  CHECK(verdict(size_mm - 0.1, size_mm + 0.0039) == Cause::size_in_doubt);
  CHECK(verdict(size_mm - 0.1, size_mm - 0.0039) == Cause::size_in_doubt);
  CHECK(verdict(size_mm - 0.1, size_mm - 0.0041) == Cause::over_size);
  CHECK(verdict(size_mm - 0.0041, size_mm + 0.1) == Cause::none);
  CHECK(verdict(size_mm - 0.0039, size_mm + 0.1) == Cause::size_in_doubt);
  CHECK(verdict(size_mm + 0.0039, size_mm + 0.1) == Cause::size_in_doubt);
  CHECK(verdict(size_mm + 0.0041, size_mm + 0.1) == Cause::under_size);
  const auto growth_verdict = [&](double least, double most) {
    Shop other;
    other.bench.joined.recipe.growth_fraction = {least, most};
    return other.at(260).cause;
  };
  CHECK(growth_verdict(0.25, 0.30) == Cause::growth_low);
  CHECK(growth_verdict(0.10, 0.15) == Cause::growth_high);
}

TEST_CASE("A target that comes too near the die's rating opens the dies at the force limit") {
  Shop shop;
  shop.drawn.values[index_of(PressInput::overshoot)] = 0.01;
  CHECK(ceiling_kn(shop.bench.joined) == 400);  // hex-3-16; the press could do 1471 kN
  CHECK(shop.at(396).cause == Cause::none);
  CHECK(shop.at(396.1).cause == Cause::force_limit);
}

TEST_CASE("The envelope counts only when it is asked for") {
  Shop shop;
  shop.bench.joined.recipe.envelope = {{{0.5, {1, 2}}}};
  CHECK(shop.at(260).cause == Cause::none);
  shop.bench.judge_envelope = true;
  CHECK(shop.at(260).cause == Cause::outside_envelope);
  shop.bench.joined.recipe.envelope = {{{0.5, {98.9, 99.1}}}};  // half of 198 kN at half the stroke
  CHECK(shop.at(260).cause == Cause::none);
}

TEST_CASE("A gap left in the first pass is told to the prediction of the second") {
  Shop shop;
  std::vector<double> told;
  const Predictor inner = shop.bench.predict;
  shop.bench.predict = [&](const prediction::Part& part, const std::vector<double>& stops) {
    told = stops;
    return inner(part, stops);
  };
  const auto curves = inner(shop.drawn.part(), {});
  const Pressed pressed = press(shop.bench, shop.drawn, curves, 198 * 0.98);
  CHECK(pressed.closed);
  REQUIRE(told.size() == 1);
  CHECK(told.front() == Approx(0.02));
  told.clear();
  CHECK(press(shop.bench, shop.drawn, curves, 260).closed);
  CHECK(told.empty());
}

TEST_CASE("The bite with most fresh shank has the whole die length, or all the shank there is") {
  recipe::JoinedRecipe joined = tests::a_recipe();
  CHECK(most_engaged_mm(joined, 0, 0.15) == Approx(33));
  joined.die_pair.length_mm = 80;  // longer than the swage length: one bite to the grown mouth
  const double mouth_mm = 2.011 * 25.4 + 1.938 * 25.4 * 0.15;
  CHECK(most_engaged_mm(joined, 0, 0.15) == Approx(mouth_mm - 1.5));
}
