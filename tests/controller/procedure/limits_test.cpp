#include <catch2/catch.hpp>
#include <functional>

#include "bench_recipe.hpp"
#include "procedure/decide.hpp"
#include "procedure/expectation.hpp"

// Goal: each limit is where the recipe says, to the last step of its gauge. Method: one value on the limit,
// one a step inside, one a step outside; the expected answer follows from the recipe's number alone.

using namespace shankwright;
using namespace shankwright::procedure;

namespace {

const recipe::JoinedRecipe bench = tests::bench_recipe();
const Tool tool{true, true, true, 0.004, true};

bool taken(const State& state, const Event& event, const recipe::JoinedRecipe& joined = bench) {
  return decide(state, event, joined).entry != EntryKind::refused;
}

/// Both ends of a band: on the limit and a step inside are taken, a step outside is not.
void check_band(const char* what, const State& state, recipe::Band band, double step,
                const std::function<Event(double)>& event) {
  INFO(what);
  for (const double on : {band.least, band.most, band.least + step, band.most - step}) {
    INFO(on);
    CHECK(taken(state, event(on)));
  }
  for (const double off : {band.least - step, band.most + step}) {
    INFO(off);
    CHECK_FALSE(taken(state, event(off)));
  }
}

State after_parts() {
  State state;
  state.stage = Stage::mark;
  state.pass = 1;
  state.bites_in_pass = 2;
  state.rope_diameter_mm = 4.8;
  state.shank_diameter_mm = 9.1;
  state.bore_depth_mm = 32;
  return state;
}

State at_position() {
  State state = after_parts();
  state.stage = Stage::position;
  state.depth_mark_mm = 32;
  state.boundary_mark_mm = 32;
  state.insertion_mm = 0;
  return state;
}

State at_bite(double edge_mm) {
  State state = at_position();
  state.stage = Stage::biting;
  state.token = 7;
  state.edge_mm = edge_mm;
  return state;
}

State at_gauge() {
  State state = at_position();
  state.stage = Stage::gauge;
  state.bites_done = 4;
  state.pass = 2;
  state.bite = 2;
  state.across_flats_least_mm = state.across_flats_most_mm = 8.0;
  state.across_flats_uncertainty_mm = 0.004;
  state.go = Limit::passes;
  state.no_go = Limit::stops;
  state.grown_mouth_mm = 35;
  state.slipped_mark_mm = -3;
  state.straightness_mm = 0;
  state.surface = Surface::sound;
  return state;
}

BiteFinished bite_at(const State& state, double force_share = 1) {
  BiteFinished bite;
  bite.token = 7;
  bite.trace_present = true;
  bite.samples_missing = 0;
  bite.peak_pressure_bar = bite.trace_peak_pressure_bar = 75;
  bite.peak_force_kn = 150;
  bite.dwell_ms = 300;
  bite.least_gap_mm = 0.01;
  bite.force_kn = {100 * force_share * engaged_length_mm(state, *state.edge_mm, bench) /
                   bench.die_pair.length_mm};
  return bite;
}

Stage verdict(const State& state) {
  return decide(state, Judge{}, bench).state.stage;
}

}  // namespace

TEST_CASE("Parts are taken up to their limits and not a step beyond") {
  State state;
  state.stage = Stage::measure;
  check_band("rope", state, bench.rope.diameter_mm, 0.01, [](double mm) {
    return RopeDiameter{{mm, mm}, tool};
  });
  check_band("shank", state, bench.terminal.shank_diameter_mm, 0.01, [](double mm) {
    return ShankDiameter{mm, tool};
  });
  // the lower limit of the bore is the swage length where that is larger
  check_band("bore", state, {bench.terminal.swage_length_mm, bench.terminal.bore_depth_mm.most}, 0.01,
             [](double mm) {
               return BoreDepth{mm, tool};
             });
}

TEST_CASE("Marks and insertion are taken up to their tolerance and not a step beyond") {
  const double mark = bench.recipe.mark_tolerance_mm, home = bench.recipe.insertion_tolerance_mm;
  check_band("depth mark", after_parts(), {32 - mark, 32 + mark}, 0.01, [](double mm) {
    return DepthMark{mm, tool};
  });
  check_band("boundary mark", after_parts(), {32 - mark, 32 + mark}, 0.01, [](double mm) {
    return BoundaryMark{mm, tool};
  });
  State state = at_position();
  state.stage = Stage::insert;
  state.insertion_mm.reset();
  check_band("insertion", state, {-home, home}, 0.01, [](double mm) { return Insertion{mm, tool}; });
}

TEST_CASE("The first bite lies between solid material and unswaged bore") {
  check_band("edge", at_position(), {1, 3}, 0.01, [](double mm) { return Position{mm, tool, {}}; });
}

TEST_CASE("The second bite overlaps the first wherever the first really was") {
  for (const double first_mm : {1.0, 2.0, 3.0}) {
    State state = at_position();
    state.bite = 1;
    state.bites_done = 1;
    state.previous_edge_mm = first_mm;
    const recipe::Band band = accepted_edges_mm(state, bench);
    INFO("first bite at " << first_mm);
    REQUIRE(band.least < band.most);
    CHECK(first_mm + bench.die_pair.length_mm - band.most >= bench.recipe.least_overlap_mm - 1e-9);
    check_band("edge", state, band, 0.01, [](double mm) { return Position{mm, tool, {}}; });
  }
}

TEST_CASE("A quarter turn is proven within its tolerance, either way round, and never flats on flats") {
  recipe::JoinedRecipe joined = bench;
  for (const double tolerance : {5.0, 14.0, 29.0, 45.0}) {
    joined.recipe.turn_tolerance_deg = tolerance;
    State state = at_position();
    state.stage = Stage::turn;
    state.bites_done = 2;
    state.angle_deg = 0;
    for (int tenth = 0; tenth < 3600; ++tenth) {
      const double deg = tenth / 10.0;
      const double turned = deg <= 180 ? deg : 360 - deg;
      const int past = tenth % 600;
      const int off_flats = past < 300 ? past : 600 - past;  // tenths of a degree
      const bool quarter = turned >= 90 - tolerance && turned <= 90 + tolerance;
      const bool fresh_corners = off_flats >= static_cast<int>(bench.recipe.least_flat_offset_deg * 10);
      INFO("turned by " << deg << " deg, tolerance " << tolerance);
      REQUIRE(taken(state, Turn{deg, tool, {}}, joined) == (quarter && fresh_corners));
    }
  }
}

TEST_CASE("The encoder's zero may lie anywhere") {
  for (int from = 0; from < 360; from += 7) {
    State state = at_position();
    state.stage = Stage::turn;
    state.bites_done = 2;
    state.angle_by_encoder = true;
    state.angle_deg = from;
    PressEvidence press;
    press.fresh = press.angle_encoder_fitted = true;
    recipe::JoinedRecipe joined = bench;
    joined.recipe.turn_tolerance_deg = 5;
    for (int by = 0; by < 360; ++by) {
      press.angle_deg = (from + by) % 360;
      const bool quarter = (by >= 85 && by <= 95) || (by >= 265 && by <= 275);
      REQUIRE(taken(state, Turn{0, {}, press}, joined) == quarter);
    }
  }
}

TEST_CASE("A round die asks for the quarter turn only") {
  recipe::JoinedRecipe joined = bench;
  joined.die_pair.shape = recipe::DieShape::round;
  State state = at_position();
  state.stage = Stage::turn;
  state.bites_done = 2;
  state.angle_deg = 0;
  CHECK(taken(state, Turn{60, tool, {}}, joined));
  CHECK_FALSE(taken(state, Turn{54, tool, {}}, joined));
}

TEST_CASE("A bite is good up to its limits and not a step beyond") {
  const State state = at_bite(2);
  const auto good = [&](const std::function<void(BiteFinished&)>& change) {
    BiteFinished bite = bite_at(state);
    change(bite);
    return decide(state, bite, bench).state.stage == Stage::position;
  };
  const recipe::Recipe& r = bench.recipe;
  CHECK(good([](auto&) {}));
  CHECK(good([&](auto& b) { b.least_gap_mm = r.closed_gap_mm; }));
  CHECK_FALSE(good([&](auto& b) { b.least_gap_mm = r.closed_gap_mm + 0.001; }));
  CHECK(good([&](auto& b) { b.peak_force_kn = r.peak_force_kn.least; }));
  CHECK_FALSE(good([&](auto& b) { b.peak_force_kn = r.peak_force_kn.least - 0.1; }));
  CHECK(good([&](auto& b) { b.peak_force_kn = r.peak_force_kn.most; }));
  CHECK_FALSE(good([&](auto& b) { b.peak_force_kn = r.peak_force_kn.most + 0.1; }));
  CHECK_FALSE(good([&](auto& b) { b.dwell_ms = r.dwell_ms - 21; }));
  CHECK_FALSE(good([&](auto& b) { b.samples_missing = 1; }));
  const double share = engaged_length_mm(state, 2, bench) / bench.die_pair.length_mm;
  const recipe::Band band = r.envelope[0][0].force_kn;
  CHECK(good([&](auto& b) { b.force_kn = {band.least * share + 0.001}; }));
  CHECK_FALSE(good([&](auto& b) { b.force_kn = {band.least * share - 0.1}; }));
  CHECK(good([&](auto& b) { b.force_kn = {band.most * share - 0.001}; }));
  CHECK_FALSE(good([&](auto& b) { b.force_kn = {band.most * share + 0.1}; }));
  CHECK_FALSE(good([&](auto& b) { b.force_kn = {}; }));  // the trace never reached that gap
}

TEST_CASE(
    "A bite made again is judged where the metal was not squeezed before, and nothing passes unjudged "
    "twice") {
  recipe::JoinedRecipe joined = bench;
  joined.recipe.envelope = {{{0.8, {60, 100}}, {0.5, {80, 120}}, {0.2, {100, 140}}}, {}};
  State state = at_bite(2);
  BiteFinished let_go = bite_at(state);
  let_go.fault_code = 3;
  let_go.least_gap_mm = 0.6;
  let_go.force_kn = {80, 0, 0};
  const Decision again = decide(state, let_go, joined);
  REQUIRE(again.state.stage == Stage::position);
  CHECK(again.state.half_pressed_to_mm == 0.6);
  let_go.force_kn = {50, 0, 0};  // too soft where it was pressed: not tried again
  CHECK(decide(state, let_go, joined).state.stage == Stage::hold);

  State second = again.state;
  second.stage = Stage::biting;
  second.token = 7;
  second.edge_mm = 2;
  BiteFinished whole = bite_at(second);
  whole.force_kn = {20, 100, 120};  // easy down to where the first attempt left it
  const Decision done = decide(second, whole, joined);
  CHECK(done.state.stage == Stage::position);
  CHECK_FALSE(done.state.half_pressed_to_mm.has_value());
  whole.force_kn = {20, 70, 120};
  CHECK(decide(second, whole, joined).state.stage == Stage::hold);
}

TEST_CASE("The envelope asks less of a bite that works less shank") {
  State first = at_bite(2);
  CHECK(engaged_length_mm(first, 2, bench) == Approx(23));  // whole die on fresh shank
  State second = at_bite(16);
  second.bite = 1;
  second.previous_edge_mm = 2;
  // 16 to 25 mm was squeezed by the first bite; the mouth lies at 32 mm and has grown a little
  CHECK(engaged_length_mm(second, 16, bench) > 7);
  CHECK(engaged_length_mm(second, 16, bench) < 9);
}

TEST_CASE("A size is proven only the gauge's uncertainty away from a limit") {
  // ILAC-G8:09/2019, 4.2.3: acceptance limit = tolerance limit less the guard band, here w = U.
  const recipe::Band band = bench.recipe.across_flats_mm;
  const double u = 0.004;
  const auto sized = [](double least, double most, Limit go, Limit no_go) {
    State state = at_gauge();
    state.across_flats_least_mm = least;
    state.across_flats_most_mm = most;
    state.go = go;
    state.no_go = no_go;
    return verdict(state);
  };
  CHECK(sized(band.least + u, band.most - u, Limit::passes, Limit::stops) == Stage::accepted);
  CHECK(sized(8.0, band.most - u + 0.001, Limit::passes, Limit::stops) == Stage::hold);
  CHECK(sized(8.0, band.most + u, Limit::passes, Limit::stops) == Stage::hold);  // not proven over either
  CHECK(sized(8.0, band.most + u + 0.001, Limit::stops, Limit::stops) == Stage::turn);   // re-press
  CHECK(sized(8.0, band.most + u + 0.001, Limit::passes, Limit::stops) == Stage::hold);  // contradiction
  CHECK(sized(band.least - u - 0.001, 8.0, Limit::passes, Limit::stops) == Stage::scrapped);
  CHECK(sized(8.0, 8.0, Limit::stops, Limit::stops) == Stage::hold);    // contradiction
  CHECK(sized(8.0, 8.0, Limit::passes, Limit::passes) == Stage::hold);  // contradiction
}

TEST_CASE("Growth, straightness and slip are judged at the recipe's limits") {
  const double swage = bench.terminal.swage_length_mm;
  const auto grown = [&](double fraction) {
    State state = at_gauge();
    state.grown_mouth_mm = 32 + swage * fraction;
    state.slipped_mark_mm = -swage * fraction;
    return verdict(state);
  };
  CHECK(grown(bench.recipe.growth_fraction.least + 1e-6) == Stage::accepted);
  CHECK(grown(bench.recipe.growth_fraction.least - 0.001) == Stage::hold);
  CHECK(grown(bench.recipe.growth_fraction.most - 1e-6) == Stage::accepted);
  CHECK(grown(bench.recipe.growth_fraction.most + 0.001) == Stage::hold);
  State state = at_gauge();
  state.straightness_mm = bench.recipe.straightness_mm_max;
  CHECK(verdict(state) == Stage::accepted);
  state.straightness_mm = bench.recipe.straightness_mm_max + 0.01;
  CHECK(verdict(state) == Stage::scrapped);
  state = at_gauge();
  state.slipped_mark_mm = -3 + bench.recipe.slip_mm_max;
  CHECK(verdict(state) == Stage::accepted);
  state.slipped_mark_mm = -3 + bench.recipe.slip_mm_max + 0.01;
  CHECK(verdict(state) == Stage::scrapped);
}

TEST_CASE("A re-press is granted as often as the recipe says, then the fitting is scrap") {
  State state = at_gauge();
  state.across_flats_most_mm = 8.2;
  state.go = Limit::stops;
  for (int granted = 0; granted <= bench.recipe.re_presses_max; ++granted) {
    state.re_presses = granted;
    CHECK(verdict(state) == (granted < bench.recipe.re_presses_max ? Stage::turn : Stage::scrapped));
  }
}
