#include "one_bench_world.hpp"

#include <spdlog/spdlog.h>

#include <algorithm>

#include "wording/wording.hpp"

namespace shankwright::tests {

using namespace procedure;

namespace {

constexpr std::int64_t far_day = 100'000;

library::Shop shop_for(const recipe::JoinedRecipe& joined) {
  library::Shop shop;
  shop.people["ada"] = {"ada", "Ada", true, false, false, false, {{joined.recipe.family, far_day}}};
  shop.rope_lots["R"] = {"R", joined.rope.id, false, ""};
  shop.terminal_lots["T"] = {"T", joined.terminal.id, false, ""};
  shop.die_pairs[joined.die_pair.id] = {"D", far_day, 0};
  shop.press_calibration_due_day[joined.press.id] = far_day;
  for (const auto& gauge : joined.measuring_gauges) shop.gauge_calibration_due_day[gauge.id] = far_day;
  shop.gauge_calibration_due_day[joined.go_gauge.id] = shop.gauge_calibration_due_day[joined.no_go_gauge.id] =
      far_day;
  return shop;
}

node::NodeSettings settings_for(const recipe::JoinedRecipe& joined) {
  node::NodeSettings settings;
  settings.target_bar_max = joined.press.pressure_max_bar;
  settings.limit_bar_max = joined.press.pressure_max_bar * 1.05;
  return settings;
}

plant::PressTruth truth_for(const recipe::JoinedRecipe& joined) {
  plant::PressTruth truth;
  truth.ram_area_mm2 = joined.press.ram_area_mm2;
  truth.relief_pressure_bar = joined.press.pressure_max_bar * 1.03;
  return truth;
}

/// The instrument a careful operator takes for each value.
recipe::GaugeKind instrument_for(const std::string& kind) {
  using recipe::GaugeKind;
  if (kind == "shank_diameter" || kind == "across_flats") return GaugeKind::micrometer;
  if (kind == "bore_depth") return GaugeKind::depth_rod;
  if (kind == "straightness") return GaugeKind::straight_edge;
  if (kind == "turn" || kind == "reseated") return GaugeKind::protractor;
  return GaugeKind::caliper;
}

const recipe::Gauge& gauge_for(const std::string& kind, const recipe::JoinedRecipe& joined) {
  if (kind == "go_gauge") return joined.go_gauge;
  if (kind == "no_go_gauge") return joined.no_go_gauge;
  const auto wanted = instrument_for(kind);
  const auto found = std::find_if(joined.measuring_gauges.begin(), joined.measuring_gauges.end(),
                                  [&](const recipe::Gauge& gauge) { return gauge.kind == wanted; });
  if (found == joined.measuring_gauges.end())
    throw std::logic_error("no instrument for " + kind + " in " + joined.recipe.id);
  return *found;
}

Event event_of(const bench::Evidence& seen) {
  const std::string& kind = seen.kind;
  const double value = seen.values.empty() ? 0 : seen.values.front();
  const Limit limit = seen.result == "passes" ? Limit::passes : Limit::stops;
  if (kind == "rope_diameter") return RopeDiameter{seen.values, {}};
  if (kind == "shank_diameter") return ShankDiameter{value, {}};
  if (kind == "bore_depth") return BoreDepth{value, {}};
  if (kind == "depth_mark") return DepthMark{value, {}};
  if (kind == "boundary_mark") return BoundaryMark{value, {}};
  if (kind == "insertion") return Insertion{value, {}};
  if (kind == "position") return Position{value, {}, {}};
  if (kind == "turn") return Turn{value, {}, {}};
  if (kind == "reseated") return Reseated{value, {}, {}};
  if (kind == "across_flats") return AcrossFlats{seen.stations_mm, {}};
  if (kind == "go_gauge") return GoGauge{limit, {}};
  if (kind == "no_go_gauge") return NoGoGauge{limit, {}};
  if (kind == "growth") return Growth{value, {}};
  if (kind == "straightness") return Straightness{value, {}};
  if (kind == "slip") return Slip{value, {}};
  if (kind != "surface") throw std::logic_error("nothing to give for " + kind);
  for (const Surface surface : {Surface::sound, Surface::cracked, Surface::lapped, Surface::wires_broken})
    if (wording::name_of(surface) == seen.result) return SurfaceSeen{surface};
  throw std::logic_error("surface " + seen.result);
}

}  // namespace

OneBenchWorld::OneBenchWorld(const library::Library& library, const modbus::Profile& profile,
                             const std::string& recipe_id, std::uint64_t seed, bench::PartWish part)
    : joined_(library::join(library, recipe_id).value()),
      library_(library),
      shop_(shop_for(joined_)),
      node_(settings_for(joined_), truth_for(joined_), seed),
      press_(node_, profile, clock_),
      station_({joined_.press.id}, clock_, press_, store_, library_, shop_, people_) {
  node_.with_bench([&](bench::Bench& bench, bool) {
    bench.mount(joined_.die_pair, 0.0);
    bench.new_part(joined_, part);
  });
  spdlog::set_level(spdlog::level::off);
  if (!station_.recover()) throw std::logic_error("an empty record did not open");
  press_.pass_ms(100);
}

void OneBenchWorld::act(Event event, const std::string& gauge) {
  press_.pass_ms(40);
  const auto result = station_.act({serial_, std::move(event), gauge, "ada", ""});
  if (result.acceptance == ports::Acceptance::refused)
    for (const Finding& finding : result.findings) refusals.push_back(finding.code);
}

void OneBenchWorld::give(const std::string& kind, int readings) {
  const recipe::Gauge* gauge = kind == "surface" ? nullptr : &gauge_for(kind, joined_);
  const int wanted = kind == "across_flats" ? readings / 3 : readings;
  const auto seen =
      node_.with_bench([&](bench::Bench& bench, bool) { return bench.measure(kind, gauge, wanted); });
  if (!seen) throw std::logic_error(seen.problem().text());
  act(event_of(seen.value()), gauge == nullptr ? "" : gauge->id);
}

void OneBenchWorld::press_until_open() {
  press_.pass_ms(60);
  station_.tick(0);
  if (now().state.stage != Stage::permit_given) return;
  if (pull_rope_out) node_.with_bench([](bench::Bench& bench, bool) { return bench.pull_out().ok(); });
  node_.change_contacts([](node::Contacts& contacts) { contacts.both_hands_on = true; });
  for (int waited_ms = 0; waited_ms < 60'000; waited_ms += 20) {
    press_.pass_ms(20);
    station_.tick(0);
    const Stage stage = now().state.stage;
    if (stage != Stage::permit_given && stage != Stage::biting) break;
  }
  node_.change_contacts([](node::Contacts& contacts) { contacts.both_hands_on = false; });
  press_.pass_ms(40);
}

void OneBenchWorld::step(const ports::FittingView& view) {
  const auto next = wording::next_action(view, *station_.latest());
  const State& state = view.state;
  const auto with = [this](auto hands) {
    const auto done = node_.with_bench([&](bench::Bench& bench, bool) { return hands(bench); });
    if (!done) throw std::logic_error(done.problem().text());
  };
  if (next.code == "mark_depth") with([&](bench::Bench& b) { return b.mark_depth(*state.bore_depth_mm); });
  if (next.code == "mark_boundary")
    with([&](bench::Bench& b) { return b.mark_boundary(*state.bore_depth_mm); });
  if (next.code == "check_insertion") with([&](bench::Bench& b) { return b.insert(0); });
  if (next.code == "set_position") with([&](bench::Bench& b) { return b.position(view.planned_edge_mm); });
  if (next.code == "quarter_turn")
    with([&](bench::Bench& b) { return b.turn(std::exchange(wrong_turn_deg, std::nullopt).value_or(90)); });
  if (next.code == "ask_permit") {
    act(RequestPermit{});
    press_until_open();
  } else if (next.code == "judge") {
    act(Judge{});
  } else if (next.code == "release") {
    act(Release{});
  } else if (!next.input.empty()) {
    press_.pass_ms(40);
    station_.tick(0);
    give(next.input, next.readings);
  } else {
    throw std::logic_error("nothing to do for " + next.code);
  }
}

ports::FittingView OneBenchWorld::run() {
  station_.tick(0);
  const auto started = station_.start_fitting({joined_.recipe.id, "world", "R", "T", "ada"});
  if (started.acceptance != ports::Acceptance::taken) throw std::logic_error("not admitted");
  serial_ = started.fitting->serial;
  for (int steps = 0; steps < 400; ++steps) {
    const auto view = now();
    const Stage stage = view.state.stage;
    if (stage == Stage::released || stage == Stage::scrapped || stage == Stage::hold) return view;
    step(view);
    station_.tick(0);
  }
  throw std::logic_error(joined_.recipe.id + " came to no end");
}

}  // namespace shankwright::tests
