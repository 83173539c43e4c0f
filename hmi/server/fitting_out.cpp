#include <nlohmann/json.hpp>

#include "hmi/server/json_out.hpp"
#include "library/names.hpp"
#include "review/time.hpp"
#include "wording/wording.hpp"

namespace shankwright::hmi {
namespace {

/// Only what is known: an absent member means nobody has measured it yet.
Json evidence_json(const procedure::State& state, double swage_length_mm) {
  Json out = Json::object();
  const auto put = [&](const char* name, const std::optional<double>& value) {
    if (value) out[name] = number(*value);
  };
  put("rope_diameter_mm", state.rope_diameter_mm);
  put("shank_diameter_mm", state.shank_diameter_mm);
  put("bore_depth_mm", state.bore_depth_mm);
  put("depth_mark_mm", state.depth_mark_mm);
  put("boundary_mark_mm", state.boundary_mark_mm);
  put("insertion_mm", state.insertion_mm);
  put("edge_mm", state.edge_mm);
  put("angle_deg", state.angle_deg);
  put("across_flats_least_mm", state.across_flats_least_mm);
  put("across_flats_most_mm", state.across_flats_most_mm);
  out["go"] = wording::name_of(state.go);
  out["no_go"] = wording::name_of(state.no_go);
  put("growth", procedure::growth_fraction(state, swage_length_mm));
  put("straightness_mm", state.straightness_mm);
  put("slip_mm", procedure::slip_mm(state));
  out["surface"] = wording::name_of(state.surface);
  return out;
}

/// The envelope of the coming or running bite, scaled to the shank that it works.
Json envelope_json(const std::vector<recipe::ForceAtGap>& envelope) {
  Json out = Json::array();
  for (const auto& point : envelope)
    out.push_back({{"gap_mm", number(point.gap_mm)},
                   {"least_kn", number(point.force_kn.least)},
                   {"most_kn", number(point.force_kn.most)}});
  return out;
}

Json limits_json(const recipe::JoinedRecipe& joined) {
  const auto& recipe = joined.recipe;
  return {{"rope_diameter_mm", to_json(joined.rope.diameter_mm)},
          {"shank_diameter_mm", to_json(joined.terminal.shank_diameter_mm)},
          {"bore_depth_mm", to_json(joined.terminal.bore_depth_mm)},
          {"mark_tolerance_mm", number(recipe.mark_tolerance_mm)},
          {"insertion_tolerance_mm", number(recipe.insertion_tolerance_mm)},
          {"across_flats_mm", to_json(recipe.across_flats_mm)},
          {"growth", to_json(recipe.growth_fraction)},
          {"straightness_mm_max", number(recipe.straightness_mm_max)},
          {"slip_mm_max", number(recipe.slip_mm_max)},
          {"closed_gap_mm", number(recipe.closed_gap_mm)}};
}

Json drawing_json(const recipe::JoinedRecipe& joined) {
  return {{"bore_diameter_mm", number(joined.terminal.bore_diameter_mm)},
          {"swage_length_mm", number(joined.terminal.swage_length_mm)},
          {"die_length_mm", number(joined.die_pair.length_mm)},
          {"die_shape", library::name_of(library::shape_names, joined.die_pair.shape)},
          {"die_across_flats_mm", number(joined.die_pair.across_flats_mm)},
          {"rope_nominal_diameter_mm", number(joined.rope.nominal_diameter_mm)},
          {"construction", library::name_of(library::construction_names, joined.rope.construction)}};
}

Json proof_json(const procedure::State& state, const recipe::Recipe& recipe) {
  Json asked = nullptr, newest = nullptr;
  if (recipe.proof)
    asked = {{"load_kn", number(recipe.proof->load_kn)},
             {"hold_s", number(recipe.proof->hold_s)},
             {"slip_mm_max", number(recipe.proof->slip_mm_max)}};
  if (state.proof_load_kn && state.proof_held_s && state.proof_slip_mm)
    newest = {{"load_kn", number(*state.proof_load_kn)},
              {"held_s", number(*state.proof_held_s)},
              {"slip_mm", number(*state.proof_slip_mm)}};
  return {
      {"asked", asked}, {"newest", newest}, {"passed", state.proof_passed}, {"slipped", state.proof_slipped}};
}

Json disposition_json(const ports::FittingView& fitting) {
  const auto& state = fitting.state;
  return {{"two_persons", fitting.joined.recipe.two_person_disposition},
          {"proposed", state.proposed ? Json(wording::name_of(*state.proposed)) : Json(nullptr)},
          {"proposed_by", fitting.proposed_by},
          {"returnable", state.held_from != procedure::Stage::none}};
}

Json next_json(const ports::FittingView& fitting, const ports::Snapshot& snapshot) {
  const auto next = wording::next_action(fitting, snapshot);
  return {{"code", next.code},           {"title", next.title},      {"detail", next.detail},
          {"input", next.input},         {"unit", next.unit},        {"readings", next.readings},
          {"least", number(next.least)}, {"most", number(next.most)}};
}

}  // namespace

Json to_json(const ports::FittingView& fitting, const ports::Snapshot& snapshot) {
  const auto& state = fitting.state;
  const auto& recipe = fitting.joined.recipe;
  return {{"serial", fitting.serial},
          {"stage", wording::name_of(state.stage)},
          {"verdict", fitting.verdict},
          {"recipe", fitting.recipe_id},
          {"revision", recipe.revision},
          {"job", fitting.job},
          {"operator", fitting.operator_id},
          {"rope_lot", fitting.rope_lot},
          {"terminal_lot", fitting.terminal_lot},
          {"started_utc", review::utc_text(fitting.started_utc_us, utc_decimals)},
          {"evidence", evidence_json(state, fitting.joined.terminal.swage_length_mm)},
          {"pass", state.pass},
          {"passes", recipe.passes},
          {"bite", state.bite},
          {"bites_in_pass", state.bites_in_pass},
          {"re_presses", state.re_presses},
          {"repeats", state.repeats},
          {"bites_done", state.bites_done},
          {"planned_edge_mm", number(fitting.planned_edge_mm)},
          {"accepted_edge_mm", to_json(fitting.accepted_edge_mm)},
          {"target_force_kn", number(recipe.target_force_kn)},
          {"envelope", envelope_json(fitting.envelope)},
          {"limits", limits_json(fitting.joined)},
          {"drawing", drawing_json(fitting.joined)},
          {"next", next_json(fitting, snapshot)},
          {"proof", proof_json(state, recipe)},
          {"disposition", disposition_json(fitting)},
          {"findings", to_json(fitting.last_findings)},
          {"standing", to_json(state.standing)}};
}

}  // namespace shankwright::hmi
