#include <algorithm>
#include <cmath>
#include <numeric>

#include "procedure/expectation.hpp"
#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

bool before_first_bite(const State& state) {
  return state.bites_done == 0 && (state.stage == Stage::measure || state.stage == Stage::mark ||
                                   state.stage == Stage::insert || state.stage == Stage::position);
}

/// The step that the evidence has reached. Readings may be taken again before the first bite; whatever rests
/// on them is then void and the fitting falls back to the step that is open.
Decision advance(State state) {
  if (!state.rope_diameter_mm || !state.shank_diameter_mm || !state.bore_depth_mm)
    state.stage = Stage::measure;
  else if (!state.depth_mark_mm || !state.boundary_mark_mm)
    state.stage = Stage::mark;
  else if (!state.insertion_mm)
    state.stage = Stage::insert;
  else
    state.stage = Stage::position;
  if (state.stage != Stage::position) state.edge_mm.reset();
  return {std::move(state), EntryKind::evidence, {}, {}};
}

bool outside(double value, const recipe::Band& band) {
  return !(value >= band.least - rounding_mm && value <= band.most + rounding_mm);
}

bool may_be_marked(const State& state) {
  return before_first_bite(state) && state.stage != Stage::measure && state.bore_depth_mm;
}

/// Where both marks belong: at the measured bore depth.
recipe::Band at_bore_end(const State& state, const recipe::JoinedRecipe& joined) {
  const double tolerance = joined.recipe.mark_tolerance_mm;
  return {*state.bore_depth_mm - tolerance, *state.bore_depth_mm + tolerance};
}

/// A reading against its band: taken whole or refused with the number.
template <typename Take>
Decision read(const State& last, const Tool& tool, Guard guard, Code code, double value,
              const recipe::Band& band, Take take) {
  Findings findings = tool_findings(tool);
  if (broken(guard, outside(value, band))) findings.push_back({code, value, band.least, band.most});
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  take(state);
  return advance(std::move(state));
}

}  // namespace

Findings tool_findings(const Tool& tool) {
  Findings findings;
  if (broken(Guard::tool_known, !tool.known)) findings.push_back({Code::gauge_unknown});
  if (broken(Guard::tool_kind, !tool.right_kind)) findings.push_back({Code::gauge_wrong_kind});
  if (broken(Guard::tool_date, !tool.in_date)) findings.push_back({Code::gauge_overdue});
  if (broken(Guard::tool_free, !tool.free)) findings.push_back({Code::gauge_quarantined});
  return findings;
}

Decision admit(const State& last, const Admit& asked, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::none) return not_this_step(last);
  Findings findings;
  const auto need = [&findings](Guard guard, bool there, Code code) {
    if (broken(guard, !there)) findings.push_back({code});
  };
  need(Guard::admission_operator, asked.operator_signed_in, Code::operator_not_signed_in);
  need(Guard::admission_qualification, asked.operator_qualified, Code::operator_not_qualified);
  need(Guard::admission_recipe, asked.recipe_released && joined.recipe.status == recipe::Status::released,
       Code::recipe_not_released);
  need(Guard::admission_press, asked.recipe_for_this_press, Code::recipe_for_other_press);
  need(Guard::admission_die_pair, asked.die_pair_known, Code::die_pair_unknown);
  need(Guard::admission_die_life, asked.die_life_left, Code::die_pair_worn_out);
  need(Guard::admission_die_inspection, asked.die_inspection_in_date, Code::die_inspection_overdue);
  need(Guard::admission_press_calibration, asked.press_calibration_in_date, Code::press_calibration_overdue);
  need(Guard::admission_gauges, asked.gauges_in_date, Code::gauge_overdue);
  need(Guard::admission_rope_lot, asked.rope_lot_known, Code::rope_lot_unknown);
  need(Guard::admission_rope_quarantine, asked.rope_lot_free || !asked.rope_lot_known,
       Code::rope_lot_quarantined);
  need(Guard::admission_rope_match, asked.rope_lot_matches || !asked.rope_lot_known,
       Code::rope_lot_other_rope);
  need(Guard::admission_terminal_lot, asked.terminal_lot_known, Code::terminal_lot_unknown);
  need(Guard::admission_terminal_quarantine, asked.terminal_lot_free || !asked.terminal_lot_known,
       Code::terminal_lot_quarantined);
  need(Guard::admission_terminal_match, asked.terminal_lot_matches || !asked.terminal_lot_known,
       Code::terminal_lot_other_terminal);
  need(Guard::admission_die_pair_free, asked.die_pair_free || !asked.die_pair_known,
       Code::die_pair_quarantined);
  need(Guard::admission_gauges_free, asked.gauges_free, Code::gauge_quarantined);
  need(Guard::admission_room, asked.record_has_room, Code::record_nearly_full);
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.pass = 1;
  state.bites_in_pass = static_cast<int>(plan_of_pass(1, joined).size());
  return advance(std::move(state));
}

Decision rope_diameter(const State& last, const RopeDiameter& reading, const recipe::JoinedRecipe& joined) {
  if (!before_first_bite(last)) return not_this_step(last);
  Findings findings = tool_findings(reading.tool);
  const auto wanted = static_cast<std::size_t>(joined.recipe.rope_diameter_readings);
  if (broken(Guard::enough_readings, reading.readings_mm.size() < wanted))
    findings.push_back({Code::too_few_readings, static_cast<double>(reading.readings_mm.size()),
                        static_cast<double>(wanted), static_cast<double>(wanted)});
  const recipe::Band band = joined.rope.diameter_mm;
  for (const double value : reading.readings_mm)
    if (broken(Guard::rope_diameter, outside(value, band)))
      findings.push_back({Code::rope_diameter_out, value, band.least, band.most});
  if (reading.readings_mm.empty() && findings.empty()) findings.push_back({Code::too_few_readings});
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.rope_diameter_mm = std::accumulate(reading.readings_mm.begin(), reading.readings_mm.end(), 0.0) /
                           static_cast<double>(reading.readings_mm.size());
  return advance(std::move(state));
}

Decision shank_diameter(const State& last, const ShankDiameter& reading, const recipe::JoinedRecipe& joined) {
  if (!before_first_bite(last)) return not_this_step(last);
  return read(last, reading.tool, Guard::shank_diameter, Code::shank_diameter_out, reading.value_mm,
              joined.terminal.shank_diameter_mm,
              [&](State& state) { state.shank_diameter_mm = reading.value_mm; });
}

Decision bore_depth(const State& last, const BoreDepth& reading, const recipe::JoinedRecipe& joined) {
  if (!before_first_bite(last)) return not_this_step(last);
  if (broken(Guard::bore_covers_swage, reading.value_mm < joined.terminal.swage_length_mm - rounding_mm))
    return refuse(last, {{Code::bore_shallower_than_swage, reading.value_mm, joined.terminal.swage_length_mm,
                          joined.terminal.bore_depth_mm.most}});
  return read(last, reading.tool, Guard::bore_depth, Code::bore_depth_out, reading.value_mm,
              joined.terminal.bore_depth_mm, [&](State& state) {
                state.bore_depth_mm = reading.value_mm;
                state.depth_mark_mm.reset();  // both marks are made to the bore depth; a new depth voids them
                state.boundary_mark_mm.reset();
                state.insertion_mm.reset();
              });
}

Decision depth_mark(const State& last, const DepthMark& reading, const recipe::JoinedRecipe& joined) {
  if (!may_be_marked(last)) return not_this_step(last);
  return read(last, reading.tool, Guard::depth_mark, Code::depth_mark_off, reading.from_rope_end_mm,
              at_bore_end(last, joined), [&](State& state) {
                state.depth_mark_mm = reading.from_rope_end_mm;
                if (on(Guard::remark_voids_insertion)) state.insertion_mm.reset();
              });
}

Decision boundary_mark(const State& last, const BoundaryMark& reading, const recipe::JoinedRecipe& joined) {
  if (!may_be_marked(last)) return not_this_step(last);
  return read(last, reading.tool, Guard::boundary_mark, Code::boundary_mark_off, reading.from_mouth_mm,
              at_bore_end(last, joined), [&](State& state) {
                state.boundary_mark_mm = reading.from_mouth_mm;
                state.edge_mm.reset();  // positions are read against the boundary mark
              });
}

Decision insertion(const State& last, const Insertion& reading, const recipe::JoinedRecipe& joined) {
  if (!before_first_bite(last) || (last.stage != Stage::insert && last.stage != Stage::position))
    return not_this_step(last);
  const double tolerance = joined.recipe.insertion_tolerance_mm;
  return read(last, reading.tool, Guard::rope_home, Code::rope_not_home, reading.mark_to_mouth_mm,
              {-tolerance, tolerance}, [&](State& state) { state.insertion_mm = reading.mark_to_mouth_mm; });
}

}  // namespace shankwright::procedure
