#include <cmath>

#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

/// What the press itself must show before a permit, whoever asks.
Findings press_findings(const State& state, const PressEvidence& press, const recipe::JoinedRecipe& joined) {
  Findings findings;
  if (broken(Guard::press_fresh, !press.fresh))
    return {{Code::press_evidence_stale}};  // nothing else it says counts
  if (broken(Guard::emergency_circuit, !press.emergency_circuit_healthy))
    findings.push_back({Code::emergency_circuit_open});
  if (broken(Guard::guard_closed, !press.guard_closed)) findings.push_back({Code::guard_open});
  if (broken(Guard::remote, !press.remote_selected)) findings.push_back({Code::press_in_local_control});
  if (broken(Guard::no_fault, press.fault_code != 0 || press.phase == Phase::faulted))
    findings.push_back({Code::press_faulted, static_cast<double>(press.fault_code)});
  else if (broken(Guard::press_open, press.phase != Phase::open))
    findings.push_back({Code::press_not_open, static_cast<double>(press.phase)});
  const double tag = joined.die_pair.tag;
  if (broken(Guard::die_tag, press.die_tag != joined.die_pair.tag))
    findings.push_back({Code::die_tag_other, static_cast<double>(press.die_tag), tag, tag});
  if (broken(Guard::shank_present, joined.press.require_shank_sensor && !press.shank_present))
    findings.push_back({Code::no_shank_in_dies});
  // Before the first bite only: from then on the mouth grows over the mark, and the rope is gripped.
  if (broken(Guard::mark_sensor, state.bites_done == 0 && press.mark_sensor_fitted && !press.mark_seen))
    findings.push_back({Code::mark_sensor_sees_no_mark});
  return findings;
}

/// Position and angle as the press's own sensors show them at this moment, against what was proven.
Findings live_findings(const State& state, const PressEvidence& press, const recipe::JoinedRecipe& joined) {
  Findings findings;
  if (!state.edge_mm) return findings;  // position_unproven is reported by the caller
  if (press.position_sensor_fitted && press.fresh && on(Guard::position_live))
    for (const Finding& finding : edge_findings(state, press.edge_distance_mm, joined))
      findings.push_back(finding);
  if (state.angle_deg && state.angle_by_encoder && press.angle_encoder_fitted) {
    const double moved_deg = angle_between_deg(*state.angle_deg, press.angle_deg);
    if (broken(Guard::angle_held, !(moved_deg <= joined.recipe.turn_tolerance_deg + rounding_mm)))
      findings.push_back({Code::angle_moved, moved_deg, 0, joined.recipe.turn_tolerance_deg});
  }
  return findings;
}

/// Every reason against a permit. Nothing here leans on how the state was reached: each proof is asked for
/// again.
Findings permit_findings(const State& state, const PressEvidence& press, const recipe::JoinedRecipe& joined) {
  Findings findings;
  if (!state.insertion_mm || !state.depth_mark_mm || !state.boundary_mark_mm || !state.bore_depth_mm)
    findings.push_back({Code::insertion_unproven});
  if (broken(Guard::position_proven, !state.edge_mm)) findings.push_back({Code::position_unproven});
  if (broken(Guard::reseat, state.reseat_needed)) findings.push_back({Code::reseat_needed});
  if (state.bites_done > 0 && (!state.angle_deg || state.angle_by_encoder != press.angle_encoder_fitted))
    findings.push_back({Code::angle_unproven});
  for (const Finding& finding : press_findings(state, press, joined)) findings.push_back(finding);
  for (const Finding& finding : live_findings(state, press, joined)) findings.push_back(finding);
  return findings;
}

}  // namespace

Decision request_permit(const State& last, const RequestPermit& asked, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::position) return not_this_step(last);
  Findings findings = permit_findings(last, asked.press, joined);
  if (asked.token == 0)
    findings.push_back({Code::press_evidence_stale});  // the press's token is not known yet
  if (broken(Guard::permit_room, !asked.record_has_room)) findings.push_back({Code::record_nearly_full});
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.stage = Stage::permit_recorded;
  state.token = asked.token;
  if (state.bites_done == 0) {  // the first bite defines the first pass's angle
    state.angle_by_encoder = asked.press.angle_encoder_fitted;
    state.angle_deg = state.angle_by_encoder ? asked.press.angle_deg : 0.0;
  }
  return {std::move(state), EntryKind::evidence, {}, {Order::record_permit}};
}

Decision permit_durable(const State& last, const PermitDurable& recorded,
                        const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::permit_recorded) return not_this_step(last);
  State state = last;
  Findings findings = permit_findings(last, recorded.press, joined);
  if (broken(Guard::recheck_when_durable, !findings.empty())) {
    findings.insert(findings.begin(), {Code::evidence_aged_while_recording});
    state.stage = Stage::position;
    state.token = 0;
    return {std::move(state), EntryKind::finding, std::move(findings), {}};
  }
  state.stage = Stage::permit_given;
  return {std::move(state), EntryKind::evidence, {}, {Order::give_permit}};
}

Decision permit_refused(const State& last, const PermitRefused& answer) {
  if (last.stage != Stage::permit_given) return not_this_step(last);
  State state = last;
  state.stage = Stage::position;
  state.token = 0;
  return {std::move(state),
          EntryKind::finding,
          {{Code::permit_refused_by_press, static_cast<double>(answer.refusal)}},
          {}};
}

Decision permit_ended(const State& last, const PermitEnded& ended) {
  if (last.stage != Stage::permit_given) return not_this_step(last);
  if (broken(Guard::permit_end_proven, !ended.proven_no_bite)) return hold(last, {{Code::link_lost_in_bite}});
  State state = last;
  state.stage = Stage::position;
  state.token = 0;
  return {std::move(state),
          EntryKind::finding,
          {{ended.expired ? Code::permit_expired : Code::permit_withdrawn}},
          {}};
}

Decision withdraw(const State& last) {
  if (last.stage == Stage::permit_recorded) {  // the press has not been told
    State state = last;
    state.stage = Stage::position;
    state.token = 0;
    return {std::move(state), EntryKind::evidence, {}, {}};
  }
  if (last.stage == Stage::permit_given || last.stage == Stage::biting)
    return {last, EntryKind::evidence, {}, {Order::withdraw_permit}};
  return refuse(last, {{Code::no_permit_outstanding}});
}

}  // namespace shankwright::procedure
