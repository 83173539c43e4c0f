#pragma once
#include <cstdint>

namespace shankwright::procedure {

/// Why something is refused, or what is wrong with what was seen. Stored on disk by name (see wording/):
/// never rename one. `found`, `least`, `most` of a Finding carry numbers in the unit the code's name or
/// comment says.
enum class Code : std::uint8_t {
  none,
  // admission
  operator_not_signed_in,
  operator_not_qualified,
  recipe_not_released,
  recipe_has_faults,
  die_pair_unknown,
  die_pair_worn_out /* strokes */,
  die_inspection_overdue,
  press_calibration_overdue,
  gauge_unknown,
  gauge_wrong_kind,
  gauge_overdue,
  rope_lot_unknown,
  rope_lot_quarantined,
  rope_lot_other_rope,
  terminal_lot_unknown,
  terminal_lot_quarantined,
  terminal_lot_other_terminal,
  another_fitting_open,
  // order of work
  not_this_step,
  not_owner_of_step,
  bite_under_way,
  no_permit_outstanding,
  no_fitting,
  // parts, mark, insertion
  too_few_readings /* count */,
  rope_diameter_out /* mm */,
  shank_diameter_out /* mm */,
  bore_depth_out /* mm */,
  bore_shallower_than_swage /* mm */,
  depth_mark_off /* mm */,
  boundary_mark_off /* mm */,
  insertion_unproven,
  rope_not_home /* mm */,
  mark_sensor_sees_no_mark,
  // position and angle
  position_unproven,
  die_over_solid /* mm */,
  bore_left_unswaged /* mm */,
  die_off_position /* mm */,
  overlap_too_small /* mm */,
  position_disagrees_with_sensor /* mm */,
  angle_unproven,
  turn_out /* deg */,
  flats_on_flats /* deg */,
  angle_moved /* deg */,
  reseat_needed,
  // press
  press_evidence_stale,
  press_not_open,
  emergency_circuit_open,
  guard_open,
  press_in_local_control,
  press_faulted,
  die_tag_other /* tag */,
  no_shank_in_dies,
  previous_bite_not_good,
  permit_refused_by_press /* refusal code */,
  permit_expired,
  permit_withdrawn,
  evidence_aged_while_recording,
  // bite
  hands_released,
  press_fault_in_bite /* fault code */,
  dies_not_closed /* mm */,
  peak_force_low /* kN */,
  peak_force_high /* kN */,
  dwell_short /* ms */,
  trace_has_hole /* samples missing */,
  trace_missing,
  trace_contradicts_press /* bar */,
  force_below_envelope /* kN */,
  force_above_envelope /* kN */,
  link_lost_in_bite,
  bite_interrupted_by_restart,
  bite_without_permit,
  repeats_used_up /* count */,
  // gauging
  across_flats_over /* mm */,
  across_flats_under /* mm */,
  across_flats_in_guard_band /* mm */,
  go_does_not_pass,
  no_go_passes,
  gauges_contradict_measurement,
  growth_low /* fraction */,
  growth_high /* fraction */,
  bent /* mm */,
  slipped /* mm */,
  surface_cracked,
  surface_lapped,
  wires_broken,
  re_presses_used_up /* count */,
  gauging_incomplete,
  // disposition and release
  reviewer_needed,
  reason_needed,
  not_accepted,
  held_by_operator,
  recipe_for_other_press,
  // quarantine, room on the disk
  item_quarantined,
  die_pair_quarantined,
  gauge_quarantined,
  quarantined_in_shop_file,
  item_not_quarantined,
  item_unknown,
  record_nearly_full,
  // signatures, return to work, corrections
  signature_needed,
  second_person_needed,
  not_returnable,
  no_such_entry,
  // proof load
  proof_load_missing,
  proof_load_low /* kN */,
  proof_load_short /* s */,
  proof_load_slipped /* mm */,
  count_  // sentinel, never stored
};

struct Finding {
  Code code = Code::none;
  double found = 0;
  double least = 0;
  double most = 0;
  bool operator==(const Finding&) const = default;
};

}  // namespace shankwright::procedure
