#pragma once
#include <cstdint>

/// Every interlock has a name here, so that a test can take each one out in turn and prove that somebody
/// notices.
namespace shankwright::procedure {

#define SHANKWRIGHT_GUARDS(X)                                                                                \
  X(admission_operator)                                                                                      \
  X(admission_qualification)                                                                                 \
  X(admission_recipe)                                                                                        \
  X(admission_press)                                                                                         \
  X(admission_die_pair) X(admission_die_life) X(admission_die_inspection) X(admission_press_calibration) X(  \
      admission_gauges) X(admission_rope_lot) X(admission_rope_quarantine) X(admission_rope_match)           \
      X(admission_terminal_lot) X(admission_terminal_quarantine) X(admission_terminal_match) X(              \
          tool_known) X(tool_kind) X(tool_date) X(enough_readings) X(rope_diameter) X(shank_diameter)        \
          X(bore_depth) X(bore_covers_swage) X(depth_mark) X(boundary_mark) X(rope_home) X(                  \
              remark_voids_insertion) X(mark_sensor) X(die_over_solid) X(bore_unswaged) X(off_position)      \
              X(overlap) X(position_sensor_agrees) X(position_proven) X(position_live) X(turn_quarter) X(    \
                  flats_on_flats) X(angle_evidence_fresh) X(angle_held) X(reseat) X(reseat_angle)            \
                  X(press_fresh) X(press_open) X(emergency_circuit) X(guard_closed) X(remote) X(no_fault) X( \
                      die_tag) X(shank_present) X(recheck_when_durable) X(own_token) X(trace_present)        \
                      X(trace_whole) X(trace_agrees) X(bite_fault) X(dies_closed) X(peak_low) X(             \
                          peak_high) X(dwell) X(envelope_low) X(envelope_high) X(repeats_bounded)            \
                          X(permit_end_proven) X(link_loss_holds) X(restart_holds) X(unasked_bite_holds) X(  \
                              aside_voids_insertion) X(aside_voids_position) X(aside_wants_reseat)           \
                              X(aside_voids_turn) X(one_at_the_press) X(gauging_complete) X(go_contradicts)  \
                                  X(no_go_contradicts) X(across_flats_over) X(across_flats_under)            \
                                      X(guard_band) X(growth_low) X(growth_high) X(straight) X(slip)         \
                                          X(surface) X(re_presses_bounded) X(release_signed_in) X(reviewer)  \
                                              X(reason) X(admission_die_pair_free) X(admission_gauges_free)  \
                                                  X(admission_room) X(tool_free) X(permit_room) X(           \
                                                      quarantine_holds) X(quarantine_outlives_bite)          \
                                                      X(quarantine_withdraws) X(signature) X(second_person)  \
                                                          X(second_agrees) X(news_voids_proposal)            \
                                                              X(return_only_sound) X(disposition_items_free) \
                                                                  X(held_taken_out) X(proof_before_release)  \
                                                                      X(proof_before_use_as_is)              \
                                                                          X(proof_load) X(proof_time)        \
                                                                              X(proof_slip)

enum class Guard : std::uint8_t {
#define SHANKWRIGHT_GUARD_NAME(name) name,
  SHANKWRIGHT_GUARDS(SHANKWRIGHT_GUARD_NAME)
#undef SHANKWRIGHT_GUARD_NAME
      count_
};

#ifdef SHANKWRIGHT_MUTATION
/// In the test's own build of this folder: the guard taken out, or count_ for none.
extern Guard guard_taken_out;
inline bool on(Guard guard) {
  return guard != guard_taken_out;
}
#else
/// In the product every guard is on.
constexpr bool on(Guard) {
  return true;
}
#endif

/// True when the named guard finds its condition broken.
constexpr bool broken(Guard guard, bool condition) {
  return condition && on(guard);
}

}  // namespace shankwright::procedure
