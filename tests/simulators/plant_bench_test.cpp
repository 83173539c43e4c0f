#include <catch2/catch.hpp>
#include <cmath>

#include "plant_rig.hpp"
#include "recipe/bite_plan.hpp"
#include "simulators/bench/bench.hpp"

using namespace shankwright;
using namespace shankwright::plant::testing;
using bench::Bench;
using bench::Evidence;
using bench::PartWish;
using bench::RopeChoice;
using recipe::GaugeKind;

namespace {

const recipe::Gauge caliper = gauge("caliper-1", GaugeKind::caliper, 0.01, 0.02);
const recipe::Gauge micrometer = gauge("micrometer-1", GaugeKind::micrometer, 0.001, 0.004);
const recipe::Gauge depth_rod = gauge("depth-rod-1", GaugeKind::depth_rod, 0.02, 0.05);
const recipe::Gauge rule = gauge("rule-1", GaugeKind::rule, 0.1, 0.2);
const recipe::Gauge protractor = gauge("protractor-1", GaugeKind::protractor, 0.5, 0.5);
const recipe::Gauge straight_edge = gauge("straight-edge-1", GaugeKind::straight_edge, 0.02, 0.02);

recipe::Gauge gap_gauge(const char* id, GaugeKind kind, double size) {
  auto g = gauge(id, kind, 0, 0);
  g.size_mm = size;
  return g;
}
const recipe::Gauge go = gap_gauge("go-8-06", GaugeKind::go_gap, 8.06);
const recipe::Gauge no_go = gap_gauge("no-go-7-93", GaugeKind::no_go_gap, 7.93);

double one(Bench& bench, const char* kind, const recipe::Gauge& with) {
  const auto evidence = bench.measure(kind, &with, 1);
  REQUIRE(evidence.ok());
  return evidence.value().values.at(0);
}

struct Made {
  double peak_kn = 0;         // on the first bite
  double at_half_mm_bar = 0;  // pressure at gap 0.5 mm there
  double first_pass_growth = 0, growth = 0, slip_mm = 0;
  double least_mm = 1e9, most_mm = 0;  // across flats
  std::string go, no_go, surface;
  double straightness_mm = 0;
  int bites = 0;
  bool closed = true;
  double longest_stroke_ms = 0;
  std::uint64_t digest = 0;
};

/// One fitting by a good operator: every bite of every pass where the plan wants it.
Made make(std::uint64_t seed, const PartWish& wish, const recipe::JoinedRecipe& joined = demo_recipe(),
          int passes = 2) {
  Bench bench(seed);
  plant::Plant press{plant::PressTruth{}};
  bench.mount(joined.die_pair);
  bench.new_part(joined, wish);
  const double depth = one(bench, "bore_depth", depth_rod);
  REQUIRE(bench.mark_boundary(depth).ok());
  double insertion = 0;
  if (wish.rope != RopeChoice::none) {
    REQUIRE(bench.mark_depth(depth).ok());
    REQUIRE(bench.insert(0).ok());
    insertion = one(bench, "insertion", caliper);
  }
  const double mark = one(bench, "boundary_mark", caliper);
  const double target_bar = joined.recipe.target_force_kn * 1e4 / press.truth().ram_area_mm2;
  Made made;
  double growth = 0;
  for (int pass = 0; pass < passes; ++pass) {
    bool turned = pass == 0;
    for (const auto& bite : recipe::bite_plan(joined, growth)) {
      REQUIRE(bench.position(bite.edge_mm).ok());
      if (!turned) {
        REQUIRE(bench.turn(90).ok());
        CHECK(one(bench, "turn", protractor) == Approx(90).margin(4));
        turned = true;
      }
      auto& load = bench.start_stroke();
      const auto stroke = press_once(press, load, target_bar, joined.recipe.dwell_ms);
      bench.finish_stroke();
      REQUIRE(stroke.finite);
      made.closed = made.closed && stroke.home_again && stroke.dwell_ms > 0 && stroke.least_gap_mm < 0.03;
      made.longest_stroke_ms = std::max(made.longest_stroke_ms, stroke.duration_ms);
      if (made.bites == 0) {
        made.peak_kn = stroke.last_held.force_kn;
        made.at_half_mm_bar = stroke.pressure_at_half_mm_bar;
      }
      ++made.bites;
    }
    growth = (one(bench, "growth", caliper) - mark) / joined.terminal.swage_length_mm;
    if (pass == 0) made.first_pass_growth = growth;
  }
  made.growth = growth;
  const auto flats = bench.measure("across_flats", &micrometer, 5).value();
  REQUIRE(flats.stations_mm.size() == 5);
  for (const auto& station : flats.stations_mm)
    for (const double width : station) {
      made.least_mm = std::min(made.least_mm, width);
      made.most_mm = std::max(made.most_mm, width);
    }
  if (wish.rope != RopeChoice::none) {
    const double grown = one(bench, "growth", caliper) - mark;
    made.slip_mm = one(bench, "slip", caliper) - (insertion - grown);
  }
  made.go = bench.measure("go_gauge", &go, 1).value().result;
  made.no_go = bench.measure("no_go_gauge", &no_go, 1).value().result;
  made.surface = bench.measure("surface", nullptr, 1).value().result;
  made.straightness_mm = one(bench, "straightness", straight_edge);
  made.digest = bench.digest();
  return made;
}

PartWish with_rope(RopeChoice rope) {
  PartWish wish;
  wish.rope = rope;
  return wish;
}

}  // namespace

TEST_CASE("Every terminal inside its drawing, pressed to plan, comes out inside the recipe's limits") {
  int sound = 0;
  const int count = 60;
  for (std::uint64_t seed = 1; seed <= count; ++seed) {
    CAPTURE(seed);
    const Made made = make(seed, {});
    CHECK(made.closed);
    CHECK(made.least_mm > 7.95);
    CHECK(made.most_mm < 8.06);
    CHECK(made.go == "passes");
    CHECK(made.no_go == "stops");
    // Reference cases: 11.3 % in the first pass, 4 to 7 points more in the second; tolerances of the parts
    // either way.
    CHECK(made.first_pass_growth > 0.08);
    CHECK(made.first_pass_growth < 0.14);
    CHECK(made.growth > made.first_pass_growth + 0.03);
    CHECK(made.growth < 0.21);
    CHECK(std::abs(made.slip_mm) < 0.4);
    CHECK(made.straightness_mm < 0.3);
    CHECK(made.longest_stroke_ms < 2500);
    sound += made.surface == "sound";
  }
  CHECK(sound >= count - 2);
}

TEST_CASE("The rope's construction, and its absence, show in force and growth on average") {
  const auto mean = [](RopeChoice rope) {
    Made sum;
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
      const Made made = make(seed, with_rope(rope), demo_recipe(), 1);
      sum.peak_kn += made.peak_kn / 8;
      sum.growth += made.growth / 8;
    }
    return sum;
  };
  const Made strand = mean(RopeChoice::strand_1x19), seven = mean(RopeChoice::rope_7x7),
             nineteen = mean(RopeChoice::rope_7x19), none = mean(RopeChoice::none);
  CHECK(strand.peak_kn > seven.peak_kn);
  CHECK(seven.peak_kn > nineteen.peak_kn);
  CHECK(nineteen.peak_kn > none.peak_kn);
  CHECK(none.peak_kn / nineteen.peak_kn == Approx(2.0 / 3).margin(0.07));  // reference: 3273 / 4748
  CHECK(strand.growth > nineteen.growth);
  CHECK(nineteen.growth > none.growth);
}

TEST_CASE("The same seed makes the same fitting, another seed another") {
  const Made first = make(77, {}), again = make(77, {}), other = make(78, {});
  CHECK(first.digest == again.digest);
  CHECK(first.growth == again.growth);
  CHECK(first.digest != other.digest);
}

TEST_CASE("A wish changes what it is about and no other draw") {
  plant::Random a(9), b(9);
  PartWish wish;
  wish.shank_diameter_mm = 9.30;
  const auto plain = bench::draw_part(demo_recipe(), {}, a);
  const auto wished = bench::draw_part(demo_recipe(), wish, b);
  CHECK(wished.shank_od_mm == 9.30);
  CHECK(wished.bore_depth_mm == plain.bore_depth_mm);
  CHECK(wished.friction == plain.friction);
  CHECK(a.bits() == b.bits());
}

TEST_CASE("Parts are drawn inside their bands") {
  const auto joined = demo_recipe();
  plant::Random random(31);
  for (int i = 0; i < 2000; ++i) {
    const auto part = bench::draw_part(joined, {}, random);
    const auto rope = bench::draw_rope(joined, {}, random);
    if (!joined.terminal.shank_diameter_mm.holds(part.shank_od_mm) ||
        !joined.terminal.bore_depth_mm.holds(part.bore_depth_mm) ||
        !joined.rope.diameter_mm.holds(rope.diameter_mm) || rope.diameter_mm >= part.bore_mm)
      FAIL("draw " << i);
  }
}

TEST_CASE("A reading scatters as the gauge's uncertainty says and keeps its bias") {
  // U with coverage factor 2: over many gauges the standard deviation of a reading about the truth is U/2.
  double squares = 0;
  const int gauges = 300;
  for (int i = 0; i < gauges; ++i) {
    Bench bench(static_cast<std::uint64_t>(i) + 1);
    bench.new_part(demo_recipe(), {});
    const double truth = bench.part().mouth_mm();
    const double error = one(bench, "bore_depth", gauge("rod", GaugeKind::depth_rod, 0, 0.10)) - truth;
    squares += error * error / gauges;
  }
  CHECK(std::sqrt(squares) == Approx(0.05).epsilon(0.15));
  Bench bench(3);
  bench.new_part(demo_recipe(), {});
  const auto readings = bench.measure("bore_depth", &depth_rod, 20).value().values;
  for (const double value : readings) CHECK(std::abs(value / 0.02 - std::round(value / 0.02)) < 1e-6);
}

TEST_CASE(
    "An instrument that cannot read a thing, and a thing that is not there, are refused with the reason") {
  Bench bench(4);
  CHECK_FALSE(bench.measure("bore_depth", &depth_rod, 1).ok());  // no part
  CHECK_FALSE(bench.position(2).ok());
  bench.new_part(demo_recipe(), {});
  CHECK_FALSE(bench.measure("bore_depth", &protractor, 1).ok());
  CHECK_FALSE(bench.measure("across_flats", &rule, 1).ok());
  CHECK_FALSE(bench.measure("depth_mark", &rule, 1).ok());  // not made yet
  CHECK_FALSE(bench.measure("insertion", &caliper, 1).ok());
  CHECK_FALSE(bench.measure("position", &rule, 1).ok());
  CHECK_FALSE(bench.measure("colour", &rule, 1).ok());
  CHECK_FALSE(bench.measure("bore_depth", nullptr, 1).ok());
  CHECK_FALSE(bench.measure("bore_depth", &depth_rod, 0).ok());
  CHECK_FALSE(bench.turn(90).ok());
  bench.new_part(demo_recipe(), with_rope(RopeChoice::none));
  CHECK_FALSE(bench.insert(0).ok());
  CHECK_FALSE(bench.measure("rope_diameter", &caliper, 3).ok());
}

TEST_CASE("Insertion reads positive when the mark stands outside the mouth") {
  Bench bench(5);
  bench.new_part(demo_recipe(), {});
  const double depth = bench.part().mouth_mm();
  REQUIRE(bench.mark_depth(depth).ok());
  REQUIRE(bench.insert(6).ok());
  CHECK(one(bench, "insertion", caliper) == Approx(6).margin(0.8));
  CHECK_FALSE(bench.mark_seen());
  REQUIRE(bench.insert(0).ok());
  CHECK(one(bench, "insertion", caliper) == Approx(0).margin(0.8));
  CHECK(bench.mark_seen());
  REQUIRE(bench.pull_out().ok());
  CHECK_FALSE(bench.mark_seen());
}

TEST_CASE("A wrong turn is read as it is, and a reseated shank is read against the flats it is meant for") {
  Bench bench(6);
  const auto joined = demo_recipe();
  bench.mount(joined.die_pair);
  bench.new_part(joined, {});
  REQUIRE(bench.position(2).ok());
  plant::Plant press{plant::PressTruth{}};
  (void)press_once(press, bench.start_stroke(), 100, 100);
  bench.finish_stroke();
  REQUIRE(bench.part().bites() == 1);
  REQUIRE(bench.turn(60).ok());
  CHECK(one(bench, "turn", protractor) == Approx(60).margin(3));
  REQUIRE(bench.turn(30).ok());
  CHECK(one(bench, "turn", protractor) == Approx(90).margin(4));
  bench.take_out_of_dies();
  CHECK_FALSE(bench.shank_present());
  REQUIRE(bench.position(2).ok());
  CHECK(one(bench, "reseated", protractor) == Approx(0).margin(2.5));
}

TEST_CASE("With no die, or nothing in the dies, the press closes on air") {
  Bench bench(7);
  bench.new_part(demo_recipe(), {});
  CHECK(bench.start_stroke().force_kn(0) == 0);
  bench.finish_stroke();
  bench.mount(demo_recipe().die_pair);
  CHECK(bench.die_tag() == 101);
  CHECK(bench.start_stroke().force_kn(0) == 0);
  bench.finish_stroke();
  CHECK_FALSE(bench.part().bitten());
  bench.mount(std::nullopt);
  CHECK(bench.die_tag() == 0);
}

TEST_CASE("A bite left out stops the go gauge") {
  Bench bench(8);
  const auto joined = demo_recipe();
  bench.mount(joined.die_pair);
  bench.new_part(joined, {});
  plant::Plant press{plant::PressTruth{}};
  const auto plan = recipe::bite_plan(joined, 0);
  REQUIRE(plan.size() >= 2);
  for (std::size_t i = 0; i + 1 < plan.size(); ++i) {
    REQUIRE(bench.position(plan[i].edge_mm).ok());
    (void)press_once(press, bench.start_stroke(), 100, 100);
    bench.finish_stroke();
  }
  CHECK(bench.measure("go_gauge", &go, 1).value().result == "stops");
}
