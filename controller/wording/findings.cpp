#include <fmt/format.h>
#include <array>
#include <cmath>
#include <string>

#include "wording/wording.hpp"

namespace shankwright::wording {

using procedure::Code;
using procedure::Finding;

namespace {

/// How a finding's numbers are to be read.
enum class Shape : unsigned char { plain, band, at_most, at_least, number };

struct Entry {
  Code code;
  std::string_view name;
  std::string_view what;  ///< for plain; else the subject of "SUBJECT is FOUND, accepted LEAST to MOST"
  std::string_view what_to_do;
  Shape shape = Shape::plain;
  std::string_view unit = "";
  int decimals = 0;
};

constexpr std::array entries{
    Entry{Code::none, "none", "Nothing is wrong.", ""},
    Entry{Code::operator_not_signed_in, "operator_not_signed_in", "Nobody is signed in.", "Sign in."},
    Entry{Code::operator_not_qualified, "operator_not_qualified",
          "The operator's qualification for this family of recipes is missing or has run out.",
          "Ask a qualified operator, or have the qualification renewed in the shop register."},
    Entry{Code::recipe_not_released, "recipe_not_released", "The recipe is not released.",
          "Choose a released recipe; drafts and withdrawn recipes never press."},
    Entry{Code::recipe_has_faults, "recipe_has_faults", "The recipe is unknown or has faults.",
          "Run recipe check and mend what it names."},
    Entry{Code::die_pair_unknown, "die_pair_unknown", "The recipe's die pair is not in the shop register.",
          "Register the die pair with its serial and inspection date."},
    Entry{Code::die_pair_worn_out, "die_pair_worn_out", "The die pair has used up its strokes.",
          "Mount another pair or have this one inspected."},
    Entry{Code::die_inspection_overdue, "die_inspection_overdue", "The die pair's inspection is overdue.",
          "Have the dies inspected and the date entered."},
    Entry{Code::press_calibration_overdue, "press_calibration_overdue",
          "The press's force calibration is overdue.", "Have the press calibrated before pressing."},
    Entry{Code::gauge_unknown, "gauge_unknown", "The gauge is not known here.",
          "Name a gauge from the shop register."},
    Entry{Code::gauge_wrong_kind, "gauge_wrong_kind", "That gauge cannot read this value for this recipe.",
          "Use one of the gauges the recipe names for it."},
    Entry{Code::gauge_overdue, "gauge_overdue", "A gauge's calibration is overdue.",
          "Use a gauge whose calibration is in date."},
    Entry{Code::rope_lot_unknown, "rope_lot_unknown", "The rope lot is not in the shop register.",
          "Check the lot on the reel's tag."},
    Entry{Code::rope_lot_quarantined, "rope_lot_quarantined", "The rope lot is quarantined.",
          "Take rope of another lot and set this reel apart."},
    Entry{Code::rope_lot_other_rope, "rope_lot_other_rope", "That lot is another rope than the recipe's.",
          "Take the rope the recipe names: diameter and construction matter."},
    Entry{Code::terminal_lot_unknown, "terminal_lot_unknown", "The terminal lot is not in the shop register.",
          "Check the lot on the terminals' box."},
    Entry{Code::terminal_lot_quarantined, "terminal_lot_quarantined", "The terminal lot is quarantined.",
          "Take terminals of another lot and set this box apart."},
    Entry{Code::terminal_lot_other_terminal, "terminal_lot_other_terminal",
          "That lot is another terminal than the recipe's.", "Take the terminal the recipe names."},
    Entry{Code::another_fitting_open, "another_fitting_open", "Another fitting is open at this press.",
          "Finish it or put it aside first."},
    Entry{Code::not_this_step, "not_this_step", "This does not belong to the present step.",
          "Do what the screen asks for next."},
    Entry{Code::not_owner_of_step, "not_owner_of_step", "This is not yours to do.",
          "Ask the person whose work it is."},
    Entry{Code::bite_under_way, "bite_under_way", "A permit is out or a bite is running.",
          "Withdraw the permit or let the bite end first."},
    Entry{Code::no_permit_outstanding, "no_permit_outstanding", "There is no permit to withdraw.",
          "Go on with the step that is shown; the dies stay open without a permit."},
    Entry{Code::no_fitting, "no_fitting", "There is no such fitting.", "Check the serial."},
    Entry{Code::too_few_readings, "too_few_readings", "Readings given", "Read again and give all of them.",
          Shape::at_least, "", 0},
    Entry{Code::rope_diameter_out, "rope_diameter_out", "Rope diameter",
          "Measure again across the crowns; if it stays, this is not the rope the recipe needs.", Shape::band,
          "mm", 2},
    Entry{Code::shank_diameter_out, "shank_diameter_out", "Shank diameter",
          "Measure again; if it stays, set this terminal apart.", Shape::band, "mm", 3},
    Entry{Code::bore_depth_out, "bore_depth_out", "Bore depth",
          "Clear the bore and measure again; if it stays, set this terminal apart.", Shape::band, "mm", 2},
    Entry{Code::bore_shallower_than_swage, "bore_shallower_than_swage", "Bore depth",
          "The dies would bite solid material: set this terminal apart.", Shape::at_least, "mm", 2},
    Entry{Code::depth_mark_off, "depth_mark_off", "Depth mark from the rope's end",
          "Wipe it off and mark again at the measured bore depth.", Shape::band, "mm", 2},
    Entry{Code::boundary_mark_off, "boundary_mark_off", "Boundary mark from the mouth",
          "Wipe it off and mark again at the measured bore depth.", Shape::band, "mm", 2},
    Entry{Code::insertion_unproven, "insertion_unproven", "Nothing proves how deep the rope is in.",
          "Give the marks and the distance from depth mark to mouth."},
    Entry{Code::rope_not_home, "rope_not_home", "Depth mark to mouth",
          "Push the rope in until the depth mark meets the mouth, then measure again.", Shape::band, "mm", 2},
    Entry{Code::mark_sensor_sees_no_mark, "mark_sensor_sees_no_mark",
          "The mark sensor sees no depth mark at the mouth.",
          "Check that the rope is home and the mark is clean."},
    Entry{Code::position_unproven, "position_unproven", "The position of this bite is not proven.",
          "Measure from the die edge to the boundary mark."},
    Entry{Code::die_over_solid, "die_over_solid", "Die edge to boundary mark",
          "The dies would bite solid material and bend the terminal: move the shank out of the dies until "
          "the edge is clear of the mark.",
          Shape::at_least, "mm", 2},
    Entry{Code::bore_left_unswaged, "bore_left_unswaged", "Die edge to boundary mark",
          "Bore would be left unswaged: move the shank further into the dies.", Shape::band, "mm", 2},
    Entry{Code::die_off_position, "die_off_position", "Die edge to boundary mark",
          "Move the shank to the planned position.", Shape::band, "mm", 2},
    Entry{Code::overlap_too_small, "overlap_too_small", "Die edge to boundary mark",
          "This bite would not overlap the one before: move it back toward it.", Shape::band, "mm", 2},
    Entry{Code::position_disagrees_with_sensor, "position_disagrees_with_sensor", "Position as read by hand",
          "It differs from the press's own sensor: read again; if it stays, call the technician.",
          Shape::band, "mm", 2},
    Entry{Code::angle_unproven, "angle_unproven", "The angle of this pass is not proven.",
          "Prove the angle of the shank."},
    Entry{Code::turn_out, "turn_out", "Turn since the pass before",
          "Turn the shank a quarter turn and prove it again.", Shape::band, "deg", 1},
    Entry{Code::flats_on_flats, "flats_on_flats", "Angle off the flats of the pass before",
          "The same flats would lie on the same flats: turn a quarter turn.", Shape::at_least, "deg", 1},
    Entry{Code::angle_moved, "angle_moved", "Shank turned since it was proven",
          "Turn it back to the angle of this pass.", Shape::at_most, "deg", 1},
    Entry{Code::reseat_needed, "reseat_needed", "The shank has been out of the dies.",
          "Lay it back on the flats of the last pass and prove the angle."},
    Entry{Code::press_evidence_stale, "press_evidence_stale",
          "The press cannot be seen: its evidence is too old.", "Wait for the link, or call the technician."},
    Entry{Code::press_not_open, "press_not_open", "The press is not open with the dies home.",
          "Open the dies first."},
    Entry{Code::emergency_circuit_open, "emergency_circuit_open", "The emergency circuit is not healthy.",
          "Find out why the emergency stop is set before anybody resets it."},
    Entry{Code::guard_open, "guard_open", "The guard is open.", "Close the guard."},
    Entry{Code::press_in_local_control, "press_in_local_control", "The press is in local control.",
          "Select remote control at the press."},
    Entry{Code::press_faulted, "press_faulted", "The press stands faulted",
          "Find the cause, then clear the fault.", Shape::number},
    Entry{Code::die_tag_other, "die_tag_other", "Die tag in the press", "Mount the recipe's die pair.",
          Shape::band, "", 0},
    Entry{Code::no_shank_in_dies, "no_shank_in_dies", "The press sees no shank in the dies.",
          "Put the shank in the dies."},
    Entry{Code::previous_bite_not_good, "previous_bite_not_good", "The bite before was not good.",
          "It must be disposed of first."},
    Entry{Code::permit_refused_by_press, "permit_refused_by_press", "The press refused the permit",
          "Put right what it names, then ask again.", Shape::number},
    Entry{Code::permit_expired, "permit_expired", "The permit ran out before both hands were on.",
          "Ask again when ready."},
    Entry{Code::permit_withdrawn, "permit_withdrawn", "The permit was withdrawn; nothing was pressed.",
          "Ask again when ready."},
    Entry{Code::evidence_aged_while_recording, "evidence_aged_while_recording",
          "While the permit was being recorded the press changed or its evidence grew old; it was not given.",
          "Ask again."},
    Entry{Code::hands_released, "hands_released",
          "The hands were let go before the target was reached; the dies opened.",
          "Position again and keep both hands on to the end."},
    Entry{Code::press_fault_in_bite, "press_fault_in_bite", "The press stopped this bite with a fault",
          "A reviewer must dispose of the fitting; a technician should look at the press.", Shape::number},
    Entry{Code::dies_not_closed, "dies_not_closed", "Least gap",
          "The dies did not close: a reviewer must dispose of the fitting; check die pair and target force.",
          Shape::at_most, "mm", 3},
    Entry{Code::peak_force_low, "peak_force_low", "Peak force",
          "Too little force: a reviewer must dispose of the fitting; check the press.", Shape::band, "kN", 1},
    Entry{Code::peak_force_high, "peak_force_high", "Peak force",
          "Too much force: a reviewer must dispose of the fitting; check the press.", Shape::band, "kN", 1},
    Entry{Code::dwell_short, "dwell_short", "Time held at target",
          "Held too short: a reviewer must dispose of the fitting.", Shape::at_least, "ms", 0},
    Entry{Code::trace_has_hole, "trace_has_hole", "Samples missing from the trace",
          "What happened in the hole is not known: a reviewer must dispose of the fitting.", Shape::at_most,
          "", 0},
    Entry{Code::trace_missing, "trace_missing", "There is no trace of this bite.",
          "A reviewer must dispose of the fitting."},
    Entry{Code::trace_contradicts_press, "trace_contradicts_press", "Peak pressure in the trace",
          "The press's own peak says otherwise: a reviewer must dispose of the fitting; check the pressure "
          "sensor.",
          Shape::band, "bar", 1},
    Entry{Code::force_below_envelope, "force_below_envelope", "Force while closing",
          "Softer than it should be: is the rope there, and is it the right one? A reviewer must dispose of "
          "the fitting.",
          Shape::band, "kN", 1},
    Entry{Code::force_above_envelope, "force_above_envelope", "Force while closing",
          "Harder than it should be: another rope or terminal, or solid material in the dies? A reviewer "
          "must dispose of the fitting.",
          Shape::band, "kN", 1},
    Entry{Code::link_lost_in_bite, "link_lost_in_bite",
          "The link to the press was lost while a permit was out or a bite ran; what the dies did is not "
          "proven.",
          "A reviewer must dispose of the fitting."},
    Entry{Code::bite_interrupted_by_restart, "bite_interrupted_by_restart",
          "The station stopped while a permit was out or a bite ran; the bite is marked interrupted.",
          "A reviewer must dispose of the fitting."},
    Entry{Code::bite_without_permit, "bite_without_permit", "The press closed without this fitting's permit.",
          "A reviewer must dispose of the fitting; a technician should look at the press."},
    Entry{Code::repeats_used_up, "repeats_used_up", "Repeated bites",
          "No more repeats allowed: a reviewer must dispose of the fitting.", Shape::at_most, "", 0},
    Entry{Code::across_flats_over, "across_flats_over", "Across flats", "Over the upper limit.", Shape::band,
          "mm", 3},
    Entry{Code::across_flats_under, "across_flats_under", "Across flats", "Under the lower limit: scrap.",
          Shape::band, "mm", 3},
    Entry{Code::across_flats_in_guard_band, "across_flats_in_guard_band", "Across flats",
          "Too near a limit for this gauge's uncertainty: neither good nor bad is proven. Read with a better "
          "gauge, or have a reviewer dispose.",
          Shape::band, "mm", 3},
    Entry{Code::go_does_not_pass, "go_does_not_pass", "The go gauge does not pass.",
          "The shank is over size somewhere."},
    Entry{Code::no_go_passes, "no_go_passes", "The no-go gauge passes.", "The shank is under size."},
    Entry{Code::gauges_contradict_measurement, "gauges_contradict_measurement",
          "Go and no-go contradict the measured size across flats.",
          "One of them is wrong: a reviewer must dispose of the fitting; check the gauges."},
    Entry{Code::growth_low, "growth_low", "Growth",
          "Less than expected: was it squeezed on all its length, with the rope in? A reviewer must dispose.",
          Shape::band, "%", 1},
    Entry{Code::growth_high, "growth_high", "Growth",
          "More than expected: a reviewer must dispose of the fitting.", Shape::band, "%", 1},
    Entry{Code::bent, "bent", "Out of straight", "Bent: scrap. Were the dies over solid material?",
          Shape::at_most, "mm", 2},
    Entry{Code::slipped, "slipped", "Slip of the rope", "The rope moved in the shank: scrap.", Shape::band,
          "mm", 2},
    Entry{Code::surface_cracked, "surface_cracked", "The surface is cracked.", "Scrap."},
    Entry{Code::surface_lapped, "surface_lapped", "The surface has a lap.", "Scrap."},
    Entry{Code::wires_broken, "wires_broken", "Wires are broken.", "Scrap."},
    Entry{Code::re_presses_used_up, "re_presses_used_up", "Re-presses", "No more re-presses allowed: scrap.",
          Shape::at_most, "", 0},
    Entry{Code::gauging_incomplete, "gauging_incomplete", "Not every gauging reading is given.",
          "Give go, no-go, across flats, growth, straightness, slip and surface."},
    Entry{Code::reviewer_needed, "reviewer_needed", "Only a reviewer may dispose of a held fitting.",
          "Ask a reviewer."},
    Entry{Code::reason_needed, "reason_needed", "A disposition needs a reason.", "Write why."},
    Entry{Code::not_accepted, "not_accepted", "Only an accepted fitting can be released.",
          "Finish gauging it and give the verdict first."},
    Entry{Code::held_by_operator, "held_by_operator", "The operator put this fitting on hold.",
          "A reviewer must dispose of it."},
    Entry{Code::recipe_for_other_press, "recipe_for_other_press", "The recipe is made for another press.",
          "Choose a recipe for this press; one press's force is not another's."},
    Entry{Code::item_quarantined, "item_quarantined",
          "Something this fitting uses is quarantined: its rope lot, terminal lot, die pair or a gauge.",
          "Set it apart. Until the quarantine is lifted a reviewer can only scrap it."},
    Entry{Code::die_pair_quarantined, "die_pair_quarantined", "The die pair is quarantined.",
          "Take it out of the press and set it apart; a reviewer lifts the quarantine."},
    Entry{Code::gauge_quarantined, "gauge_quarantined", "A gauge that is needed is quarantined.",
          "Read with another gauge of the recipe; what this one says is no evidence."},
    Entry{Code::quarantined_in_shop_file, "quarantined_in_shop_file",
          "The shop register itself quarantines it.",
          "Only who keeps the register can lift that, in the file; then start the station again."},
    Entry{Code::item_not_quarantined, "item_not_quarantined", "It is not quarantined.", "Check the name."},
    Entry{Code::item_unknown, "item_unknown",
          "There is no such item in the shop register, and no fitting on record uses it.",
          "Check the kind and the name."},
    Entry{Code::record_nearly_full, "record_nearly_full",
          "The disk that holds the record is nearly full. Nothing is lost, and nothing new is begun.",
          "Free space on that disk, or archive sealed periods of the record to another one; then ask again."},
    Entry{Code::signature_needed, "signature_needed", "A disposition must be signed.",
          "Give your PIN again with it."},
    Entry{Code::second_person_needed, "second_person_needed",
          "The second signature must be another person's.", "Ask another reviewer to sign the same."},
    Entry{Code::not_returnable, "not_returnable",
          "It was held for what was seen of it, so it cannot go back to work.",
          "Scrap it, or use it as it is."},
    Entry{Code::no_such_entry, "no_such_entry", "That entry is not one of this fitting's.",
          "Take the number of the entry from the dossier."},
    Entry{Code::proof_load_missing, "proof_load_missing",
          "The recipe asks for a proof load, and none that meets it is on record.",
          "Proof load the terminal and record load, time and slip."},
    Entry{Code::proof_load_low, "proof_load_low", "Proof load",
          "Pull again, to the load the recipe asks for.", Shape::at_least, "kN", 2},
    Entry{Code::proof_load_short, "proof_load_short", "Proof load held",
          "Pull again and hold it long enough.", Shape::at_least, "s", 0},
    Entry{Code::proof_load_slipped, "proof_load_slipped", "Slip in the proof load",
          "The rope moved in the terminal: reject it. If it has left the shop, call it back.", Shape::at_most,
          "mm", 2},
};
static_assert(entries.size() == static_cast<std::size_t>(Code::count_), "every code has its words");

constexpr bool in_order() {
  for (std::size_t i = 0; i < entries.size(); ++i)
    if (static_cast<std::size_t>(entries[i].code) != i) return false;
  return true;
}
static_assert(in_order(), "entries stand in the order of procedure::Code");

const Entry& entry_of(Code code) {
  const auto index = static_cast<std::size_t>(code);
  return entries[index < entries.size() ? index : 0];
}

std::string quantity(double value, const Entry& entry, int decimals) {
  if (entry.unit == "%") return fmt::format("{:.{}f} %", value * 100, decimals);
  std::string text = fmt::format("{:.{}f}", value, decimals);
  return entry.unit.empty() ? text : fmt::format("{} {}", text, entry.unit);
}

/// As many decimals as it takes to tell a value from the limit it is beyond: "4.76 mm, accepted 4.76 mm
/// to 4.93 mm" would refuse and contradict itself.
int telling_decimals(const Finding& finding, const Entry& entry) {
  constexpr int decimals_most = 6;
  int decimals = entry.decimals;
  const auto hidden = [&](double limit) {
    return finding.found != limit &&
           quantity(finding.found, entry, decimals) == quantity(limit, entry, decimals);
  };
  while (decimals < decimals_most && (hidden(finding.least) || hidden(finding.most))) ++decimals;
  return decimals;
}

std::string sentence(const Finding& finding, const Entry& entry) {
  const int decimals = telling_decimals(finding, entry);
  const std::string found = quantity(finding.found, entry, decimals);
  const std::string least = quantity(finding.least, entry, decimals);
  const std::string most = quantity(finding.most, entry, decimals);
  switch (entry.shape) {
    case Shape::plain:
      return std::string(entry.what);
    case Shape::band:
      if (finding.least == finding.most) return fmt::format("{}: {}, must be {}.", entry.what, found, least);
      return fmt::format("{}: {}, accepted {} to {}.", entry.what, found, least, most);
    case Shape::at_most:
      return fmt::format("{}: {}, at most {}.", entry.what, found, most);
    case Shape::at_least:
      return fmt::format("{}: {}, at least {}.", entry.what, found, least);
    case Shape::number: {
      const auto code = static_cast<std::uint16_t>(finding.found);
      const auto name =
          finding.code == Code::permit_refused_by_press ? press_refusal(code) : press_fault(code);
      return fmt::format("{}: {} ({}).", entry.what, name, code);
    }
  }
  return std::string(entry.what);
}

}  // namespace

std::string_view name_of(Code code) {
  return entry_of(code).name;
}

FindingText describe(const Finding& finding) {
  const Entry& entry = entry_of(finding.code);
  return {sentence(finding, entry), std::string(entry.what_to_do)};
}

}  // namespace shankwright::wording
