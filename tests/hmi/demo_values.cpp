#include <limits>

#include "fake_station.hpp"
#include "wording/wording.hpp"

// Every value here is demo data: invented, plausible in size, no maker's.
namespace shankwright::hmi_test {

using procedure::Stage;

std::vector<procedure::Finding> every_finding() {
  std::vector<procedure::Finding> out;
  for (int i = 1; i < static_cast<int>(procedure::Code::count_); ++i)
    out.push_back({static_cast<procedure::Code>(i), 2.4, -0.8, 0.8});
  out.front().found = std::numeric_limits<double>::infinity();  // JSON has no word for it
  return out;
}

recipe::JoinedRecipe demo_recipe() {
  recipe::JoinedRecipe joined;
  auto& r = joined.recipe;
  r.id = "demo-recipe";
  r.revision = 3;
  r.status = recipe::Status::released;
  r.family = "straight-shank-hexagon";
  r.rope = "demo-rope";
  r.terminal = "demo-terminal";
  r.die_pair = "demo-die";
  r.press = "demo-press";
  r.go_gauge = "go-1";
  r.no_go_gauge = "no-go-1";
  r.bore_end_clearance_mm = 2;
  r.position_tolerance_mm = 0.8;
  r.least_edge_mm = 0.5;
  r.least_overlap_mm = 2;
  r.force_limit_kn = 260;
  r.mark_tolerance_mm = 0.5;
  r.insertion_tolerance_mm = 0.8;
  r.target_force_kn = 250;
  r.passes = 2;
  r.turn_deg = 90;
  r.turn_tolerance_deg = 5;
  r.envelope = {{{0.5, {80, 140}}, {0.1, {140, 220}}}, {{0.5, {60, 120}}, {0.1, {120, 200}}}};
  r.across_flats_mm = {7.9, 8.0};
  r.growth_fraction = {0.08, 0.16};
  r.straightness_mm_max = 0.2;
  r.slip_mm_max = 0.8;
  r.closed_gap_mm = 0.05;
  joined.rope = {"demo-rope", recipe::Construction::rope_7x19, 4.76, {4.7, 5.0}, 0.418, 15.6, "steel",
                 "demo data"};
  joined.terminal = {"demo-terminal", {9.0, 9.2}, 5.16, {51, 53}, 48, "stainless steel", "demo data"};
  joined.terminal.pin_to_bore_end_mm = recipe::Band{20, 20.4};
  joined.die_pair = {"demo-die", 101, recipe::DieShape::hexagon, 7.95, 20, 600, 20000, "demo data"};
  joined.press.id = "demo-press";
  joined.press.ram_area_mm2 = 20000;
  joined.press.pressure_max_bar = 300;
  joined.press.capacity_kn = 600;
  joined.go_gauge = {"go-1", recipe::GaugeKind::go_gap, 0, 0, 8.0, "demo data"};
  joined.no_go_gauge = {"no-go-1", recipe::GaugeKind::no_go_gap, 0, 0, 7.9, "demo data"};
  return joined;
}

library::Library demo_library() {
  library::Library library;
  const auto joined = demo_recipe();
  library.ropes["demo-rope"] = joined.rope;
  library.terminals["demo-terminal"] = joined.terminal;
  library.die_pairs["demo-die"] = joined.die_pair;
  library.presses["demo-press"] = joined.press;
  library.recipes["demo-recipe"] = joined.recipe;
  library.gauges["go-1"] = joined.go_gauge;
  library.gauges["no-go-1"] = joined.no_go_gauge;
  library.gauges["caliper-1"] = {"caliper-1", recipe::GaugeKind::caliper, 0.01, 0.02, {}, "demo data"};
  library.gauges["caliper-2"] = {"caliper-2", recipe::GaugeKind::caliper, 0.01, 0.02, {}, "demo data"};
  library.faults = {{"recipes/bad.yaml:3:7", "4.77", "a length with its unit"}};
  return library;
}

library::Shop demo_shop() {
  library::Shop shop;
  shop.name = "Demo shop (demo data)";
  shop.people["op-1"] = {"op-1", "Demo Operator", true, false, false, false, {}};
  shop.people["tech-1"] = {"tech-1", "Demo Technician", false, true, false, false, {}};
  shop.people["rev-1"] = {"rev-1", "Demo Reviewer", false, false, false, true, {}};
  shop.people["plan-1"] = {"plan-1", "Demo Planner", false, false, true, false, {}};
  shop.people["all-1"] = {"all-1", "Demo Everybody", true, true, true, true, {}};
  shop.rope_lots["rope-lot-1"] = {"rope-lot-1", "demo-rope", false, "demo paper"};
  shop.terminal_lots["terminal-lot-1"] = {"terminal-lot-1", "demo-terminal", true, "demo paper"};
  shop.gauge_calibration_due_day["caliper-1"] = 22401;  // 2031-05-02, the fake clock's day: still in date
  shop.gauge_calibration_due_day["go-1"] = 22400;       // the day before: overdue
  return shop;
}

ports::FittingView demo_fitting(Stage stage) {
  ports::FittingView view;
  view.serial = "AT-" + std::string(wording::name_of(stage));
  view.recipe_id = "demo-recipe";
  view.job = "demo job";
  view.operator_id = "op-1";
  view.rope_lot = "rope-lot-1";
  view.terminal_lot = "terminal-lot-1";
  view.started_utc_us = 1'935'400'000'123'456;
  view.joined = demo_recipe();
  view.planned_edge_mm = 1.85;
  view.accepted_edge_mm = {1.35, 2.35};
  view.envelope = view.joined.recipe.envelope.front();
  auto& state = view.state;
  state.stage = stage;
  state.bites_in_pass = 3;
  if (stage > Stage::measure) {
    state.rope_diameter_mm = 4.77;
    state.shank_diameter_mm = 9.12;
    state.bore_depth_mm = 52.1;
  }
  if (stage > Stage::mark) {
    state.depth_mark_mm = 52.2;
    state.boundary_mark_mm = 52.0;
  }
  if (stage > Stage::insert) {
    state.insertion_mm = 0.4;
    state.pass = 1;
  }
  if (stage >= Stage::gauge) {
    state.pass = 2;
    state.bites_done = 6;
    state.edge_mm = 1.9;
    state.angle_deg = 90;
    state.across_flats_least_mm = 7.96;
    state.across_flats_most_mm = 7.98;
    state.go = procedure::Limit::passes;
    state.no_go = procedure::Limit::stops;
    state.grown_mouth_mm = 57.6;
    state.slipped_mark_mm = -5.0;
    state.straightness_mm = 0.1;
    state.surface = procedure::Surface::sound;
  }
  if (stage == Stage::hold || stage == Stage::scrapped) state.standing = every_finding();
  if (stage == Stage::hold) view.verdict = "held";
  if (stage == Stage::scrapped) view.verdict = "scrapped";
  if (stage == Stage::accepted || stage == Stage::released) view.verdict = "accepted";
  view.last_findings = {{procedure::Code::rope_not_home, 2.4, -0.8, 0.8}};
  return view;
}

ports::Snapshot demo_snapshot() {
  ports::Snapshot snapshot;
  snapshot.at_utc_us = 1'935'500'000'000'000;
  auto& press = snapshot.press;
  press.number = 812;
  press.at_monotonic_us = 4'990'000;
  press.link = ports::LinkState::connected;
  press.phase = 1;
  press.status = 0b1101'0101'0011;
  press.die_tag = 101;
  press.pressure_bar = 125.4;
  press.gap_mm = 65.535;
  press.least_gap_mm = 0.031;
  snapshot.press_fresh = true;
  snapshot.press_age_ms = 10;
  snapshot.active = std::make_shared<const ports::FittingView>(demo_fitting(Stage::position));
  snapshot.set_aside = {"AT-aside"};
  snapshot.held = {"AT-hold"};
  snapshot.notices = {"The last start found nothing to mend."};
  return snapshot;
}

}  // namespace shankwright::hmi_test
