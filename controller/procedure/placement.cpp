#include <algorithm>
#include <cmath>

#include "procedure/expectation.hpp"
#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

double wrap_360(double angle_deg) {
  const double rest = std::fmod(angle_deg, 360.0);
  return rest < 0 ? rest + 360.0 : rest;
}

/// Where the shank's angle comes from: the encoder where one is fitted, else the protractor with its gauge
/// checks.
struct AngleReading {
  double angle_deg = 0;
  Findings findings;
};

AngleReading angle_reading(double protractor_deg, const Tool& tool, const PressEvidence& press) {
  AngleReading reading;
  if (press.angle_encoder_fitted) {
    reading.angle_deg = wrap_360(press.angle_deg);
    if (broken(Guard::angle_evidence_fresh, !press.fresh))
      reading.findings.push_back({Code::press_evidence_stale});
  } else {
    reading.angle_deg = wrap_360(protractor_deg);
    reading.findings = tool_findings(tool);
  }
  return reading;
}

}  // namespace

double angle_between_deg(double first_deg, double second_deg) {
  const double apart = wrap_360(second_deg - first_deg);
  return std::min(apart, 360.0 - apart);
}

Findings edge_findings(const State& state, double edge_mm, const recipe::JoinedRecipe& joined) {
  Findings findings;
  const auto plan = plan_of_pass(state.pass, joined);
  if (state.bite < 0 || static_cast<std::size_t>(state.bite) >= plan.size()) return {{Code::not_this_step}};
  const recipe::Band band = plan[static_cast<std::size_t>(state.bite)].accepted_mm;
  const double least_edge_mm = std::max(0.0, joined.recipe.least_edge_mm);

  // Each reason has its own range of edges, so that no interlock hides behind another.
  const bool over_solid = !(edge_mm >= least_edge_mm - rounding_mm);
  if (broken(Guard::die_over_solid, over_solid))
    findings.push_back({Code::die_over_solid, edge_mm, least_edge_mm, band.most});
  if (broken(Guard::off_position, !over_solid && !(edge_mm >= band.least - rounding_mm)))
    findings.push_back({Code::die_off_position, edge_mm, band.least, band.most});

  if (state.bite == 0) {
    if (broken(Guard::bore_unswaged, !(edge_mm <= band.most + rounding_mm)))
      findings.push_back({Code::bore_left_unswaged, edge_mm, band.least, band.most});
    return findings;
  }
  const double furthest_mm =
      state.previous_edge_mm.value_or(0) + joined.die_pair.length_mm - joined.recipe.least_overlap_mm;
  const bool apart = !state.previous_edge_mm || !(edge_mm <= furthest_mm + rounding_mm);
  if (broken(Guard::overlap, apart))
    findings.push_back({Code::overlap_too_small, edge_mm, band.least, std::min(band.most, furthest_mm)});
  if (broken(Guard::off_position, !apart && !(edge_mm <= band.most + rounding_mm)))
    findings.push_back({Code::die_off_position, edge_mm, band.least, band.most});
  return findings;
}

Decision position(const State& last, const Position& reading, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::position) return not_this_step(last);
  Findings findings = tool_findings(reading.tool);
  double edge_mm = reading.edge_mm;
  if (reading.press.position_sensor_fitted && reading.press.fresh) {
    edge_mm = reading.press.edge_distance_mm;
    const double tolerance = joined.recipe.position_tolerance_mm;
    if (broken(Guard::position_sensor_agrees,
               !(std::abs(edge_mm - reading.edge_mm) <= tolerance + rounding_mm)))
      findings.push_back(
          {Code::position_disagrees_with_sensor, reading.edge_mm, edge_mm - tolerance, edge_mm + tolerance});
  }
  for (const Finding& finding : edge_findings(last, edge_mm, joined)) findings.push_back(finding);
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.edge_mm = edge_mm;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

Decision turn(const State& last, const Turn& reading, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::turn) return not_this_step(last);
  if (broken(Guard::reseat, last.reseat_needed)) return refuse(last, {{Code::reseat_needed}});
  AngleReading now = angle_reading(reading.angle_deg, reading.tool, reading.press);
  Findings findings = std::move(now.findings);
  if (!last.angle_deg || last.angle_by_encoder != reading.press.angle_encoder_fitted) {
    findings.push_back(
        {Code::reseat_needed});  // the pass before has no angle from this source to turn away from
    return refuse(last, std::move(findings));
  }
  const double turned_deg = angle_between_deg(*last.angle_deg, now.angle_deg);
  const double least = joined.recipe.turn_deg - joined.recipe.turn_tolerance_deg;
  const double most = joined.recipe.turn_deg + joined.recipe.turn_tolerance_deg;
  if (broken(Guard::turn_quarter, !(turned_deg >= least - rounding_mm && turned_deg <= most + rounding_mm)))
    findings.push_back({Code::turn_out, turned_deg, least, most});
  if (joined.die_pair.shape == recipe::DieShape::hexagon) {
    const double past_flat = std::fmod(turned_deg, 60.0);
    const double off_flats_deg = std::min(past_flat, 60.0 - past_flat);
    if (broken(Guard::flats_on_flats, !(off_flats_deg >= joined.recipe.least_flat_offset_deg - rounding_mm)))
      findings.push_back({Code::flats_on_flats, off_flats_deg, joined.recipe.least_flat_offset_deg, 30.0});
  }
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.stage = Stage::position;
  state.pass += 1;
  state.bite = 0;
  state.bites_in_pass = static_cast<int>(plan_of_pass(state.pass, joined).size());
  state.previous_angle_deg = last.angle_deg;
  state.angle_deg = now.angle_deg;
  state.edge_mm.reset();
  state.previous_edge_mm.reset();
  if (!state.angle_by_encoder) state.angle_deg = 0;  // the protractor is zeroed anew on this pass's flats
  return {std::move(state), EntryKind::evidence, {}, {}};
}

Decision reseated(const State& last, const Reseated& reading, const recipe::JoinedRecipe& joined) {
  const bool wanted = (last.stage == Stage::position || last.stage == Stage::turn) &&
                      (last.reseat_needed || last.angle_by_encoder != reading.press.angle_encoder_fitted);
  if (!wanted || last.bites_done == 0) return not_this_step(last);
  AngleReading now = angle_reading(reading.angle_deg, reading.tool, reading.press);
  Findings findings = std::move(now.findings);
  const double tolerance = joined.recipe.turn_tolerance_deg;
  if (!reading.press.angle_encoder_fitted) {
    const double off_zero = angle_between_deg(0, now.angle_deg);  // zeroed on the flats it now lies on
    if (broken(Guard::reseat_angle, !(off_zero <= tolerance + rounding_mm)))
      findings.push_back({Code::angle_moved, off_zero, 0, tolerance});
  }
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.reseat_needed = false;
  state.angle_by_encoder = reading.press.angle_encoder_fitted;
  state.angle_deg = state.angle_by_encoder ? now.angle_deg : 0.0;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

}  // namespace shankwright::procedure
