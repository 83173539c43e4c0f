#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "procedure/finding.hpp"

namespace shankwright::procedure {

/// Where one fitting stands. Stored on disk by name: never rename one.
enum class Stage : std::uint8_t {
  none,             ///< not admitted yet
  measure,          ///< rope diameter, shank diameter, bore depth wanted
  mark,             ///< depth mark and boundary mark wanted
  insert,           ///< depth mark to mouth wanted
  position,         ///< position (and angle) of the coming bite wanted, then a permit may be asked for
  permit_recorded,  ///< permit being written to the record; the press has not been told
  permit_given,     ///< the press has been told; from here on a bite may exist
  biting,           ///< dies have moved under this permit
  turn,             ///< pass done, proven quarter turn wanted
  gauge,            ///< all passes done; go, no-go, across flats, growth, straightness, slip, surface wanted
  accepted,         ///< verdict accept, not yet released
  released,         ///< end: serial released
  scrapped,         ///< end
  hold,             ///< evidence missing or contradictory: a reviewer must dispose of it
  aside             ///< put aside by the operator
};

enum class Surface : std::uint8_t { not_looked_at, sound, cracked, lapped, wires_broken };
enum class Limit : std::uint8_t { not_tried, passes, stops };  ///< a limit gauge offered to the shank

/// What a reviewer decides about a held fitting. Stored on disk by name.
enum class Disposition : std::uint8_t {
  scrap,
  use_as_is,      ///< released by concession
  return_to_work  ///< only where the hold had nothing to do with the fitting's own evidence
};

/// Everything the core knows of one fitting. A plain comparable value; default is the start.
struct State {
  Stage stage = Stage::none;
  Stage aside_from = Stage::none;

  std::optional<double> rope_diameter_mm, shank_diameter_mm, bore_depth_mm;
  std::optional<double> depth_mark_mm, boundary_mark_mm;
  std::optional<double> insertion_mm;  ///< depth mark to mouth, positive when the mark stands outside

  int pass = 0;  ///< 1 and up once pressing
  int bite = 0;  ///< index of the coming bite in this pass, 0 and up
  int bites_in_pass = 0;
  std::optional<double> edge_mm;             ///< proven position of the coming bite
  std::optional<double> previous_edge_mm;    ///< where the previous bite of this pass really was
  std::optional<double> angle_deg;           ///< proven angle of this pass, 0 to <360
  std::optional<double> previous_angle_deg;  ///< angle of the previous pass
  bool angle_by_encoder = false;
  bool reseat_needed = false;  ///< the shank was out of the dies between bites
  int repeats = 0;
  /// Least gap that an unfinished bite at this place has reached: above it the metal is squeezed already.
  std::optional<double> half_pressed_to_mm;
  int re_presses = 0;
  std::uint16_t token = 0;  ///< of the permit recorded or given
  int bites_done = 0;       ///< good bites, all passes

  std::optional<double> across_flats_least_mm, across_flats_most_mm;
  double across_flats_uncertainty_mm = 0;  ///< U of the gauge that read them
  Limit go = Limit::not_tried, no_go = Limit::not_tried;
  std::optional<double> grown_mouth_mm;   ///< boundary mark to mouth after pressing
  std::optional<double> slipped_mark_mm;  ///< depth mark to mouth after pressing
  std::optional<double> straightness_mm;
  Surface surface = Surface::not_looked_at;

  /// A permit or bite was under way when something it uses was quarantined: held as soon as that has ended.
  bool hold_after_bite = false;
  /// Held for reasons outside its own evidence: the step it would be put aside from; none where it was held
  /// for what was seen of it.
  Stage held_from = Stage::none;
  std::optional<Disposition> proposed;                               ///< by the first of two reviewers
  std::optional<double> proof_load_kn, proof_held_s, proof_slip_mm;  ///< the newest proof load
  bool proof_passed = false;                                         ///< the newest met the recipe
  bool proof_slipped = false;                                        ///< some proof load moved the rope

  /// Why it is held or scrapped, or what a proof load found after release; empty otherwise.
  std::vector<Finding> standing;

  bool operator==(const State&) const = default;
};

/// Visits every plain value of a state with the key it is stored under; stages, limits, surface, the proposed
/// disposition and standing findings are left to the caller. The one list that the record and the tests use.
template <typename AnyState, typename Visitor>
void for_each_value(AnyState& s, Visitor&& visit) {
  visit("rope_diameter_mm", s.rope_diameter_mm);
  visit("shank_diameter_mm", s.shank_diameter_mm);
  visit("bore_depth_mm", s.bore_depth_mm);
  visit("depth_mark_mm", s.depth_mark_mm);
  visit("boundary_mark_mm", s.boundary_mark_mm);
  visit("insertion_mm", s.insertion_mm);
  visit("pass", s.pass);
  visit("bite", s.bite);
  visit("bites_in_pass", s.bites_in_pass);
  visit("edge_mm", s.edge_mm);
  visit("previous_edge_mm", s.previous_edge_mm);
  visit("angle_deg", s.angle_deg);
  visit("previous_angle_deg", s.previous_angle_deg);
  visit("angle_by_encoder", s.angle_by_encoder);
  visit("reseat_needed", s.reseat_needed);
  visit("repeats", s.repeats);
  visit("half_pressed_to_mm", s.half_pressed_to_mm);
  visit("re_presses", s.re_presses);
  visit("token", s.token);
  visit("bites_done", s.bites_done);
  visit("across_flats_least_mm", s.across_flats_least_mm);
  visit("across_flats_most_mm", s.across_flats_most_mm);
  visit("across_flats_uncertainty_mm", s.across_flats_uncertainty_mm);
  visit("grown_mouth_mm", s.grown_mouth_mm);
  visit("slipped_mark_mm", s.slipped_mark_mm);
  visit("straightness_mm", s.straightness_mm);
  visit("hold_after_bite", s.hold_after_bite);
  visit("proof_load_kn", s.proof_load_kn);
  visit("proof_held_s", s.proof_held_s);
  visit("proof_slip_mm", s.proof_slip_mm);
  visit("proof_passed", s.proof_passed);
  visit("proof_slipped", s.proof_slipped);
}

/// Growth of the swaged length, once both readings are there: the bore's mouth moved away from the boundary
/// mark.
[[nodiscard]] std::optional<double> growth_fraction(const State& state, double swage_length_mm);

/// How far the rope came out of the shank, positive outward, once all readings are there. The rope's end
/// stays at the bore end while the mouth grows outward over the rope, so an unslipped depth mark ends inside
/// the mouth by the growth; slip is the departure from that.
[[nodiscard]] std::optional<double> slip_mm(const State& state);

}  // namespace shankwright::procedure
