#include <fmt/format.h>
#include <cmath>

#include "procedure/expectation.hpp"
#include "wording/wording.hpp"

namespace shankwright::wording {
namespace {

using procedure::Limit;
using procedure::Stage;
using procedure::Surface;

constexpr std::uint16_t status_angle_encoder = 1U << 10U;  // press-map: status bits
constexpr std::uint16_t phase_faulted = 6;

NextAction want(std::string code, std::string title, std::string detail, std::string input = "",
                std::string unit = "", double least = 0, double most = 0, int readings = 1) {
  return {std::move(code),
          std::move(title),
          std::move(detail),
          std::move(input),
          std::move(unit),
          readings,
          least,
          most};
}

NextAction measure(const procedure::State& state, const recipe::JoinedRecipe& joined) {
  if (!state.rope_diameter_mm) {
    const auto& band = joined.rope.diameter_mm;
    return want("measure_rope", "Measure the rope",
                fmt::format("Across the crowns, {} readings at different places.",
                            joined.recipe.rope_diameter_readings),
                "rope_diameter", "mm", band.least, band.most, joined.recipe.rope_diameter_readings);
  }
  if (!state.shank_diameter_mm) {
    const auto& band = joined.terminal.shank_diameter_mm;
    return want("measure_shank", "Measure the shank", "Outside diameter before pressing.", "shank_diameter",
                "mm", band.least, band.most);
  }
  const auto& band = joined.terminal.bore_depth_mm;
  return want("measure_bore", "Measure the bore", "Depth rod from the mouth to the end of the bore.",
              "bore_depth", "mm", band.least, band.most);
}

NextAction mark(const procedure::State& state, const recipe::JoinedRecipe& joined) {
  const double depth_mm = state.bore_depth_mm.value_or(0);
  const double tolerance = joined.recipe.mark_tolerance_mm;
  if (!state.depth_mark_mm)
    return want(
        "mark_depth", "Mark the rope",
        fmt::format("Depth mark {:.1f} mm from the rope's end. Then measure where it really is.", depth_mm),
        "depth_mark", "mm", depth_mm - tolerance, depth_mm + tolerance);
  return want(
      "mark_boundary", "Mark the shank",
      fmt::format(
          "Boundary mark {:.1f} mm from the mouth: the bore ends there. Then measure where it really is.",
          depth_mm),
      "boundary_mark", "mm", depth_mm - tolerance, depth_mm + tolerance);
}

NextAction place(const ports::FittingView& fitting, const ports::Snapshot& snapshot) {
  const procedure::State& state = fitting.state;
  if (snapshot.press_fresh && snapshot.press.phase == phase_faulted)
    return want("clear_fault", "Clear the press's fault",
                fmt::format("The press stands faulted: {}. Find the cause first.",
                            press_fault(snapshot.press.fault_code)));
  if (state.reseat_needed)
    return want("reseat", "Lay the shank back", "On the flats of the last pass, then prove the angle.",
                "reseated", "deg", 0, fitting.joined.recipe.turn_tolerance_deg);
  const auto& band = fitting.accepted_edge_mm;
  if (!state.edge_mm)
    return want(
        "set_position",
        fmt::format("Position bite {} of {}, pass {}", state.bite + 1, state.bites_in_pass, state.pass),
        fmt::format("Die edge {:.2f} mm from the boundary mark, toward the mouth. Then measure it.",
                    fitting.planned_edge_mm),
        "position", "mm", band.least, band.most);
  return want("ask_permit",
              fmt::format("Ask for bite {} of {}, pass {}", state.bite + 1, state.bites_in_pass, state.pass),
              fmt::format("Position {:.2f} mm is proven. Hands clear of the dies.", *state.edge_mm));
}

NextAction turn(const ports::FittingView& fitting, const ports::Snapshot& snapshot) {
  if (fitting.state.reseat_needed) return place(fitting, snapshot);
  const auto& recipe = fitting.joined.recipe;
  const bool encoder = (snapshot.press.status & status_angle_encoder) != 0;
  return want("quarter_turn", "Turn the shank a quarter turn",
              encoder ? "Turn it in the dies, then confirm: the press's encoder proves the angle."
                      : "Turn it in the dies and read the protractor, zeroed on the flats just pressed.",
              "turn", "deg", recipe.turn_deg - recipe.turn_tolerance_deg,
              recipe.turn_deg + recipe.turn_tolerance_deg);
}

NextAction gauge(const procedure::State& state, const recipe::JoinedRecipe& joined) {
  const auto& recipe = joined.recipe;
  if (state.go == Limit::not_tried)
    return want("gauge_go", "Go gauge",
                fmt::format("Does the go gap {} pass over the whole pressed length?", joined.go_gauge.id),
                "go_gauge");
  if (state.no_go == Limit::not_tried)
    return want("gauge_no_go", "No-go gauge",
                fmt::format("Does the no-go gap {} pass anywhere?", joined.no_go_gauge.id), "no_go_gauge");
  if (!state.across_flats_least_mm)
    return want("gauge_across_flats", "Measure across flats",
                fmt::format("{} places along the shank, all three pairs of flats at each.",
                            recipe.across_flats_stations),
                "across_flats", "mm", recipe.across_flats_mm.least, recipe.across_flats_mm.most,
                recipe.across_flats_stations * 3);
  if (!state.grown_mouth_mm) {
    const double before_mm = state.boundary_mark_mm.value_or(0);
    const double swage_mm = joined.terminal.swage_length_mm;
    return want("gauge_growth", "Measure the growth",
                fmt::format("Boundary mark to mouth; it was {:.2f} mm.", before_mm), "growth", "mm",
                before_mm + swage_mm * recipe.growth_fraction.least,
                before_mm + swage_mm * recipe.growth_fraction.most);
  }
  if (!state.slipped_mark_mm) {
    const double expected_mm =
        state.insertion_mm.value_or(0) - (*state.grown_mouth_mm - state.boundary_mark_mm.value_or(0));
    return want("gauge_slip", "Find the depth mark",
                fmt::format("Depth mark to mouth. The mouth has grown over it: about {:.2f} mm is expected "
                            "(negative: inside).",
                            expected_mm),
                "slip", "mm", expected_mm - recipe.slip_mm_max, expected_mm + recipe.slip_mm_max);
  }
  if (!state.straightness_mm)
    return want("gauge_straightness", "Check straightness",
                "Largest gap under the straight edge along the shank.", "straightness", "mm", 0,
                recipe.straightness_mm_max);
  if (state.surface == Surface::not_looked_at)
    return want("look_at_surface", "Look at the surface", "Cracks, laps, broken wires at the mouth?",
                "surface");
  return want("judge", "Ask for the verdict", "All readings are there.");
}

NextAction proof(const recipe::ProofTest& wanted) {
  return want("proof_load", "Proof load it",
              fmt::format("At least {:.2f} kN for {:.0f} s, guarded, nobody in line with the rope. Then give "
                          "load, time and slip. It may be put aside until its assembly is ready.",
                          wanted.load_kn, wanted.hold_s),
              "proof_load", "kN", wanted.load_kn, wanted.load_kn);
}

}  // namespace

NextAction next_action(const ports::FittingView& fitting, const ports::Snapshot& snapshot) {
  const procedure::State& state = fitting.state;
  const double tolerance = fitting.joined.recipe.insertion_tolerance_mm;
  switch (state.stage) {
    case Stage::measure:
      return measure(state, fitting.joined);
    case Stage::mark:
      return mark(state, fitting.joined);
    case Stage::insert:
      return want("check_insertion", "Push the rope home",
                  "Until the depth mark meets the mouth. Then measure mark to mouth (positive: the mark "
                  "stands outside).",
                  "insertion", "mm", -tolerance, tolerance);
    case Stage::position:
      return place(fitting, snapshot);
    case Stage::permit_recorded:
      return want("wait_for_record", "Wait", "The permit is being written to the record.");
    case Stage::permit_given:
      return want("press_both_hands", "Both hands on the press",
                  "The press may close once. Hold both hands on until the dies open again.");
    case Stage::biting:
      return want("wait_for_dies", "Keep both hands on", "Until the dies are open.");
    case Stage::turn:
      return turn(fitting, snapshot);
    case Stage::gauge:
      return gauge(state, fitting.joined);
    case Stage::accepted:
      if (fitting.joined.recipe.proof && !state.proof_passed) return proof(*fitting.joined.recipe.proof);
      return want("release", "Accepted: release it",
                  "The serial is bound to this fitting when it is released.");
    case Stage::hold:
      return want("wait_for_reviewer", "On hold",
                  state.proposed
                      ? fmt::format("{} has signed \"{}\". Another reviewer must sign the same.",
                                    fitting.proposed_by.empty() ? "A reviewer" : fitting.proposed_by,
                                    name_of(*state.proposed))
                      : "A reviewer must dispose of this fitting. Set it apart.");
    case Stage::aside:
      return want("resume", "Put aside", "Resume it when you come back to it.");
    case Stage::none:
    case Stage::released:
    case Stage::scrapped:
      break;
  }
  return want(
      "done", state.stage == Stage::scrapped ? "Scrapped" : "Released",
      state.stage == Stage::scrapped ? "Mark it and put it in the scrap." : "This fitting is finished.");
}

}  // namespace shankwright::wording
