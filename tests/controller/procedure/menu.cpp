#include "menu.hpp"

#include <cmath>

#include "procedure/expectation.hpp"

namespace shankwright::tests {

using namespace procedure;

namespace {

const Tool good_tool{true, true, true, 0.004, true};

/// A healthy press with the shank where it was proven.
PressEvidence healthy(Fitted fitted, const State& state, const Truth& truth) {
  const bool sensors = fitted == Fitted::all_sensors;
  PressEvidence press;
  press.fresh = true;
  press.phase = Phase::open;
  press.emergency_circuit_healthy = press.guard_closed = press.remote_selected = press.shank_present = true;
  press.die_tag = 101;
  press.mark_sensor_fitted = press.angle_encoder_fitted = press.position_sensor_fitted = sensors;
  press.mark_seen = sensors;
  press.angle_deg = truth.pass_angle_deg;
  press.edge_distance_mm = state.edge_mm.value_or(2.0);
  return press;
}

template <typename Make>
void unhealthy(std::vector<Offer>& offers, const std::string& name, const PressEvidence& good, Fitted fitted,
               const State& state, Make make) {
  const auto offer = [&](const std::string& what, auto change) {
    PressEvidence press = good;
    change(press);
    offers.push_back({name + ": " + what, make(press), false});
  };
  offer("stale", [](auto& p) { p.fresh = false; });
  offer("emergency circuit open", [](auto& p) { p.emergency_circuit_healthy = false; });
  offer("guard open", [](auto& p) { p.guard_closed = false; });
  offer("local control", [](auto& p) { p.remote_selected = false; });
  offer("a fault stands", [](auto& p) { p.fault_code = 1; });
  offer("dies closing", [](auto& p) { p.phase = Phase::closing; });
  offer("other dies", [](auto& p) { p.die_tag = 102; });
  offer("no shank", [](auto& p) { p.shank_present = false; });
  if (fitted == Fitted::no_sensors) return;
  if (state.bites_done == 0) offer("mark not seen", [](auto& p) { p.mark_seen = false; });
  offer("shank moved over solid", [](auto& p) { p.edge_distance_mm = -1; });
  if (state.bites_done > 0) offer("shank turned", [](auto& p) { p.angle_deg += 50; });
}

void offer_parts(std::vector<Offer>& offers, const State& state) {
  const auto flag = [&](const char* name, bool Admit::*member) {
    Admit admit{true, true, true, true, true, true, true, true, true,
                true, true, true, true, true, true, true, true, true};
    if (member != nullptr) admit.*member = false;
    offers.push_back({std::string("admit: ") + name, admit, member == nullptr});
  };
  flag("all in order", nullptr);
  flag("nobody signed in", &Admit::operator_signed_in);
  flag("not qualified", &Admit::operator_qualified);
  flag("recipe not released", &Admit::recipe_released);
  flag("dies unknown", &Admit::die_pair_known);
  flag("dies worn out", &Admit::die_life_left);
  flag("die inspection overdue", &Admit::die_inspection_in_date);
  flag("press calibration overdue", &Admit::press_calibration_in_date);
  flag("gauges overdue", &Admit::gauges_in_date);
  flag("rope lot unknown", &Admit::rope_lot_known);
  flag("rope lot quarantined", &Admit::rope_lot_free);
  flag("other rope", &Admit::rope_lot_matches);
  flag("terminal lot unknown", &Admit::terminal_lot_known);
  flag("terminal lot quarantined", &Admit::terminal_lot_free);
  flag("other terminal", &Admit::terminal_lot_matches);
  flag("recipe for another press", &Admit::recipe_for_this_press);
  flag("dies quarantined", &Admit::die_pair_free);
  flag("gauges quarantined", &Admit::gauges_free);
  flag("disk nearly full", &Admit::record_has_room);

  offers.push_back({"rope good", RopeDiameter{{4.8, 4.8}, good_tool}});
  offers.push_back({"rope: one reading", RopeDiameter{{4.8}, good_tool}, false});
  offers.push_back({"rope thick", RopeDiameter{{4.8, 5.3}, good_tool}, false});
  offers.push_back({"rope thin", RopeDiameter{{4.5, 4.8}, good_tool}, false});
  offers.push_back({"rope: unknown gauge", RopeDiameter{{4.8, 4.8}, {false, true, true, 0, true}}, false});
  offers.push_back({"rope: wrong gauge", RopeDiameter{{4.8, 4.8}, {true, false, true, 0, true}}, false});
  offers.push_back({"rope: overdue gauge", RopeDiameter{{4.8, 4.8}, {true, true, false, 0, true}}, false});
  offers.push_back(
      {"rope: quarantined gauge", RopeDiameter{{4.8, 4.8}, {true, true, true, 0, false}}, false});
  offers.push_back({"shank good", ShankDiameter{9.1, good_tool}});
  offers.push_back({"shank thick", ShankDiameter{9.4, good_tool}, false});
  offers.push_back({"bore good", BoreDepth{32, good_tool}});
  offers.push_back({"bore too deep", BoreDepth{40, good_tool}, false});
  offers.push_back({"bore shallower than the swage", BoreDepth{29, good_tool}, false});
  const double bore_mm = state.bore_depth_mm.value_or(32);
  offers.push_back({"depth mark good", DepthMark{bore_mm + 0.2, good_tool}});
  offers.push_back({"depth mark short", DepthMark{bore_mm - 4, good_tool}, false});
  offers.push_back({"boundary mark good", BoundaryMark{bore_mm - 0.1, good_tool}});
  offers.push_back({"boundary mark far", BoundaryMark{bore_mm + 2, good_tool}, false});
  offers.push_back({"rope home", Insertion{0.1, good_tool}});
  offers.push_back({"rope not home", Insertion{3, good_tool}, false});
}

void offer_positions(std::vector<Offer>& offers, Fitted fitted, const State& state, const Truth& truth,
                     const recipe::JoinedRecipe& joined) {
  const auto plan = plan_of_pass(state.pass, joined);
  const bool in_plan = state.bite >= 0 && static_cast<std::size_t>(state.bite) < plan.size();
  const double planned_mm = in_plan ? plan[static_cast<std::size_t>(state.bite)].edge_mm : 2.0;
  const auto at = [&](const char* name, double edge_mm, bool sound) {
    PressEvidence press = healthy(fitted, state, truth);
    press.edge_distance_mm = edge_mm;
    offers.push_back({name, Position{edge_mm, good_tool, press}, sound, edge_mm});
  };
  at("placed as planned", planned_mm, true);
  at("placed over solid", -0.5, false);
  if (state.bite == 0) {
    at("placed far from the bore end", planned_mm + 3, false);
  } else {
    at("placed on the first bite", planned_mm - 10, false);
    at("placed with no overlap", truth.last_edge_mm + joined.die_pair.length_mm + 2, false);
  }
  if (fitted == Fitted::all_sensors) {
    PressEvidence press = healthy(fitted, state, truth);
    press.edge_distance_mm = planned_mm;
    offers.push_back(
        {"placed: hand and sensor differ", Position{planned_mm + 5, good_tool, press}, false, planned_mm});
  }
}

void offer_angles(std::vector<Offer>& offers, Fitted fitted, const State& state, const Truth& truth) {
  const bool sensors = fitted == Fitted::all_sensors;
  const auto turned_by = [&](const char* name, double by_deg, bool sound, bool fresh, Tool tool) {
    PressEvidence press = healthy(fitted, state, truth);
    press.angle_deg = truth.pass_angle_deg + by_deg;
    if (press.angle_deg >= 360) press.angle_deg -= 360;
    press.fresh = fresh;
    offers.push_back({name, Turn{by_deg, tool, press}, sound, 0, press.angle_deg});
  };
  turned_by("quarter turn", 90, true, true, good_tool);
  turned_by("no turn", 0, false, true, good_tool);
  turned_by("turned by 62, flats on flats", 62, false, true, good_tool);
  turned_by("turned by 40", 40, false, true, good_tool);
  if (sensors)
    turned_by("quarter turn on stale evidence", 90, false, false, good_tool);
  else
    turned_by("quarter turn with an overdue protractor", 90, false, true, {true, true, false, 0});

  PressEvidence press = healthy(fitted, state, truth);
  offers.push_back({"laid back", Reseated{0, good_tool, press}, true, 0, truth.pass_angle_deg});
  if (!sensors)
    offers.push_back({"laid back askew", Reseated{50, good_tool, press}, false, 0, truth.pass_angle_deg});
}

BiteFinished good_bite(const State& state, const recipe::JoinedRecipe& joined) {
  BiteFinished bite;
  bite.token = state.token;
  bite.trace_present = true;
  bite.samples_missing = 0;
  bite.peak_pressure_bar = bite.trace_peak_pressure_bar = 75;
  bite.peak_force_kn = 150;
  bite.dwell_ms = 300;
  bite.least_gap_mm = 0.01;
  const double share =
      engaged_length_mm(state, state.edge_mm.value_or(0), joined) / joined.die_pair.length_mm;
  bite.force_kn = {100 * share};
  return bite;
}

void offer_bites(std::vector<Offer>& offers, const State& state, const recipe::JoinedRecipe& joined) {
  const auto bite = [&](const char* name, bool sound, auto change, bool hands = false) {
    BiteFinished finished = good_bite(state, joined);
    change(finished);
    offers.push_back({name, finished, sound, 0, 0, Size::not_read, 0, hands});
  };
  bite("bite good", true, [](auto&) {});
  bite(
      "bite: hands let go", false,
      [](auto& b) {
        b.fault_code = 3;
        b.least_gap_mm = 1;
        b.peak_force_kn = 20;
      },
      true);
  bite("bite: hands let go, with a hole", false, [](auto& b) {
    b.fault_code = 3;
    b.samples_missing = 4;
  });
  bite("bite: over-pressure fault", false, [](auto& b) { b.fault_code = 4; });
  bite("bite: no trace", false, [](auto& b) { b.trace_present = false; });
  bite("bite: hole in the trace", false, [](auto& b) { b.samples_missing = 4; });
  bite("bite: trace and press differ", false, [](auto& b) { b.trace_peak_pressure_bar = 60; });
  bite("bite: dies not closed", false, [](auto& b) { b.least_gap_mm = 0.3; });
  bite("bite: peak low", false, [](auto& b) { b.peak_force_kn = 120; });
  bite("bite: peak high", false, [](auto& b) { b.peak_force_kn = 190; });
  bite("bite: short dwell", false, [](auto& b) { b.dwell_ms = 100; });
  bite("bite under another token", false, [](auto& b) { b.token = static_cast<std::uint16_t>(b.token + 1); });
  if (static_cast<std::size_t>(state.pass) > joined.recipe.envelope.size())
    return;  // a re-press is judged by closure and peak
  bite("bite: soft, as if no rope were there", false, [](auto& b) { b.force_kn[0] *= 0.67; });
  bite("bite: soft, and the hands let go", false, [](auto& b) {
    b.fault_code = 3;
    b.least_gap_mm = 0.2;
    b.force_kn[0] *= 0.67;
  });
  bite("bite: hard, as if another rope were there", false, [](auto& b) { b.force_kn[0] *= 1.3; });
}

void offer_gauging(std::vector<Offer>& offers, const State& state) {
  const auto size = [&](const char* name, double least, double most, Size is) {
    offers.push_back({name, AcrossFlats{{{least, (least + most) / 2, most}}, good_tool}, true, 0, 0, is});
  };
  size("size inside", 7.98, 8.02, Size::inside);
  size("size over", 8.00, 8.20, Size::over);
  size("size under", 7.80, 8.00, Size::under);
  size("size over and under", 7.80, 8.20, Size::over_and_under);
  size("size near the limit", 8.00, 8.099, Size::near_limit);
  offers.push_back({"go passes", GoGauge{Limit::passes, good_tool}, true, 0, 0, Size::not_read, 1});
  offers.push_back({"go stops", GoGauge{Limit::stops, good_tool}, true, 0, 0, Size::not_read, 2});
  offers.push_back({"no-go passes", NoGoGauge{Limit::passes, good_tool}, true, 0, 0, Size::not_read, 1});
  offers.push_back({"no-go stops", NoGoGauge{Limit::stops, good_tool}, true, 0, 0, Size::not_read, 2});
  const double mark_mm = state.boundary_mark_mm.value_or(31.9);
  offers.push_back({"growth good", Growth{mark_mm + 3, good_tool}, true, 0, 0, Size::not_read, 1});
  offers.push_back({"growth low", Growth{mark_mm + 1, good_tool}, true, 0, 0, Size::not_read, 2});
  offers.push_back({"growth high", Growth{mark_mm + 7, good_tool}, true, 0, 0, Size::not_read, 3});
  if (state.grown_mouth_mm) {  // what is read depends on where the mouth is now
    const double unslipped_mm = state.insertion_mm.value_or(0) - (*state.grown_mouth_mm - mark_mm);
    offers.push_back({"no slip", Slip{unslipped_mm, good_tool}, true, 0, 0, Size::not_read, 1});
    offers.push_back({"slipped", Slip{unslipped_mm + 2, good_tool}, true, 0, 0, Size::not_read, 2});
  }
  offers.push_back({"straight", Straightness{0.1, good_tool}, true, 0, 0, Size::not_read, 1});
  offers.push_back({"bent", Straightness{0.9, good_tool}, true, 0, 0, Size::not_read, 2});
  for (const Surface seen :
       {Surface::not_looked_at, Surface::sound, Surface::cracked, Surface::lapped, Surface::wires_broken})
    offers.push_back({"surface " + std::to_string(static_cast<int>(seen)), SurfaceSeen{seen}, true, 0, 0,
                      Size::not_read, static_cast<int>(seen)});
  offers.push_back({"judge", Judge{}});
}

void offer_proof_loads(std::vector<Offer>& offers) {
  const auto pull = [&](const char* name, ProofLoad event, int reading) {
    offers.push_back({name, event, reading != 0, 0, 0, Size::not_read, reading});
    offers.back().slips = std::abs(event.slip_mm) > 0.5;
  };
  pull("proof load good", {12, 180, 0.1, good_tool}, 1);
  pull("proof load low", {11, 180, 0.1, good_tool}, 2);
  pull("proof load short", {12, 60, 0.1, good_tool}, 2);
  pull("proof load slips", {12, 180, 1.5, good_tool}, 2);
  pull("proof load: unknown gauge", {12, 180, 0.1, {false, true, true, 0, true}}, 0);
}

void offer_dispositions(std::vector<Offer>& offers) {
  const auto sign = [&](const char* name, Dispose event, bool sound) {
    offers.push_back({name, event, sound});
    offers.back().same_person = event.same_person_as_proposed;
  };
  sign("reviewer scraps", {Disposition::scrap, true, true, true, false, true}, true);
  sign("the same reviewer scraps", {Disposition::scrap, true, true, true, true, true}, true);
  sign("reviewer scraps what is quarantined", {Disposition::scrap, true, true, true, false, false}, true);
  sign("reviewer uses as is", {Disposition::use_as_is, true, true, true, false, true}, true);
  sign("the same reviewer uses as is", {Disposition::use_as_is, true, true, true, true, true}, true);
  sign("operator uses as is", {Disposition::use_as_is, false, true, true, false, true}, false);
  sign("reviewer gives no reason", {Disposition::use_as_is, true, false, true, false, true}, false);
  sign("reviewer does not sign", {Disposition::use_as_is, true, true, false, false, true}, false);
  sign("reviewer uses what is quarantined", {Disposition::use_as_is, true, true, true, false, false}, false);
  sign("reviewer sends back to work", {Disposition::return_to_work, true, true, true, false, true}, true);
  sign("reviewer sends what is quarantined back",
       {Disposition::return_to_work, true, true, true, false, false}, false);
}

// What is done about a held fitting looks at no reading of gauging, and a pull at nothing that came before
// it: offered beside every state they would multiply the states and show nothing new.

bool not_gauged(const Truth& t) {
  return t.size == Size::not_read && t.go == 0 && t.no_go == 0 && t.growth == 0 && t.slip == 0 &&
         t.straight == 0 && t.surface == 0;
}

bool gauged_well(const Truth& t) {
  return t.size == Size::inside && t.go == 1 && t.no_go == 2 && t.growth == 1 && t.slip == 1 &&
         t.straight == 1 && t.surface == static_cast<int>(Surface::sound);
}

}  // namespace

std::vector<Offer> menu(Fitted fitted, const State& state, const Truth& truth,
                        const recipe::JoinedRecipe& joined) {
  std::vector<Offer> offers;
  offer_parts(offers, state);
  offer_positions(offers, fitted, state, truth, joined);
  offer_angles(offers, fitted, state, truth);
  offer_bites(offers, state, joined);
  offer_gauging(offers, state);

  const PressEvidence press = healthy(fitted, state, truth);
  offers.push_back({"ask for a permit", RequestPermit{7, press, true}});
  offers.push_back({"ask for a permit: disk nearly full", RequestPermit{7, press, false}, false});
  unhealthy(offers, "ask for a permit", press, fitted, state, [](const PressEvidence& p) {
    return RequestPermit{7, p, true};
  });
  offers.push_back({"permit durable", PermitDurable{press}});
  unhealthy(offers, "permit durable", press, fitted, state,
            [](const PressEvidence& p) { return PermitDurable{p}; });
  offers.push_back({"press refuses the permit", PermitRefused{6}});
  offers.push_back({"permit expired", PermitEnded{true, true}});
  offers.push_back({"permit ended, bite not disproven", PermitEnded{true, false}, false});
  offers.push_back({"dies move", BiteStarted{}});
  offers.push_back({"link lost", LinkLost{}});
  offers.push_back({"station restarted", Restarted{}});
  offers.push_back({"press closed unasked", UnaskedBite{}});
  offers.push_back({"withdraw", Withdraw{}});
  offers.push_back({"put aside", PutAside{}});
  offers.push_back({"resume", Resume{false}});
  offers.push_back({"resume with another open", Resume{true}, false});
  offers.push_back({"hold", HoldByOperator{}});
  offers.push_back({"release", Release{true}});
  offers.push_back({"release by nobody", Release{false}, false});
  if (state.stage == Stage::hold && !not_gauged(truth) && !gauged_well(truth)) return offers;
  offers.push_back({"something it uses is quarantined", Quarantined{}});
  if (state.stage != Stage::hold || gauged_well(truth)) offer_proof_loads(offers);
  offer_dispositions(offers);
  return offers;
}

}  // namespace shankwright::tests
