#include "station/state_json.hpp"

#include <nlohmann/json.hpp>

#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using procedure::Code;
using procedure::Finding;
using procedure::Limit;
using procedure::Stage;
using procedure::State;
using procedure::Surface;

namespace {

/// Finds the enumerator whose stored name this is; wording::name_of is the one list of names.
template <typename Enum>
Enum by_name(const std::string& name, Enum last) {
  for (int i = 0; i <= static_cast<int>(last); ++i)
    if (wording::name_of(static_cast<Enum>(i)) == name) return static_cast<Enum>(i);
  throw std::out_of_range("unknown name \"" + name + "\"");
}

json finding_json(const Finding& finding) {
  return {{"code", wording::name_of(finding.code)},
          {"found", finding.found},
          {"least", finding.least},
          {"most", finding.most}};
}

Finding finding_from(const json& from) {
  return {by_name(from.at("code").get<std::string>(), static_cast<Code>(static_cast<int>(Code::count_) - 1)),
          from.at("found").get<double>(), from.at("least").get<double>(), from.at("most").get<double>()};
}

json findings_json(const std::vector<Finding>& findings) {
  json list = json::array();
  for (const Finding& finding : findings) list.push_back(finding_json(finding));
  return list;
}

struct Write {
  json& to;
  void operator()(const char* key, const std::optional<double>& value) const {
    if (value) to[key] = *value;
  }
  template <typename T>
  void operator()(const char* key, const T& value) const {
    to[key] = value;
  }
};

struct Read {
  const json& from;
  void operator()(const char* key, std::optional<double>& value) const {
    if (from.contains(key)) value = from.at(key).get<double>();
  }
  template <typename T>
  void operator()(const char* key, T& value) const {
    if (from.contains(key)) value = from.at(key).get<T>();
  }
};

json tool_json(const procedure::Tool& tool) {
  return {{"known", tool.known},
          {"right_kind", tool.right_kind},
          {"in_date", tool.in_date},
          {"expanded_uncertainty_mm", tool.expanded_uncertainty_mm},
          {"free", tool.free}};
}

json press_json(const procedure::PressEvidence& press) {
  return {{"fresh", press.fresh},
          {"phase", wording::press_phase(static_cast<std::uint16_t>(press.phase))},
          {"emergency_circuit_healthy", press.emergency_circuit_healthy},
          {"guard_closed", press.guard_closed},
          {"remote_selected", press.remote_selected},
          {"shank_present", press.shank_present},
          {"fault_code", press.fault_code},
          {"die_tag", press.die_tag},
          {"mark_sensor_fitted", press.mark_sensor_fitted},
          {"mark_seen", press.mark_seen},
          {"angle_encoder_fitted", press.angle_encoder_fitted},
          {"angle_deg", press.angle_deg},
          {"position_sensor_fitted", press.position_sensor_fitted},
          {"edge_distance_mm", press.edge_distance_mm}};
}

/// One overload per event; a new event does not compile without its own.
struct EventJson {
  json operator()(const procedure::Admit& e) const {
    return {{"operator_signed_in", e.operator_signed_in},
            {"operator_qualified", e.operator_qualified},
            {"recipe_released", e.recipe_released},
            {"die_pair_known", e.die_pair_known},
            {"die_life_left", e.die_life_left},
            {"die_inspection_in_date", e.die_inspection_in_date},
            {"press_calibration_in_date", e.press_calibration_in_date},
            {"gauges_in_date", e.gauges_in_date},
            {"rope_lot_known", e.rope_lot_known},
            {"rope_lot_free", e.rope_lot_free},
            {"rope_lot_matches", e.rope_lot_matches},
            {"terminal_lot_known", e.terminal_lot_known},
            {"terminal_lot_free", e.terminal_lot_free},
            {"terminal_lot_matches", e.terminal_lot_matches},
            {"recipe_for_this_press", e.recipe_for_this_press},
            {"die_pair_free", e.die_pair_free},
            {"gauges_free", e.gauges_free},
            {"record_has_room", e.record_has_room}};
  }
  json operator()(const procedure::RopeDiameter& e) const {
    return {{"readings_mm", e.readings_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::ShankDiameter& e) const {
    return {{"value_mm", e.value_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::BoreDepth& e) const {
    return {{"value_mm", e.value_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::DepthMark& e) const {
    return {{"from_rope_end_mm", e.from_rope_end_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::BoundaryMark& e) const {
    return {{"from_mouth_mm", e.from_mouth_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Insertion& e) const {
    return {{"mark_to_mouth_mm", e.mark_to_mouth_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Position& e) const {
    return {{"edge_mm", e.edge_mm}, {"tool", tool_json(e.tool)}, {"press", press_json(e.press)}};
  }
  json operator()(const procedure::Turn& e) const {
    return {{"angle_deg", e.angle_deg}, {"tool", tool_json(e.tool)}, {"press", press_json(e.press)}};
  }
  json operator()(const procedure::Reseated& e) const {
    return {{"angle_deg", e.angle_deg}, {"tool", tool_json(e.tool)}, {"press", press_json(e.press)}};
  }
  json operator()(const procedure::RequestPermit& e) const {
    return {{"token", e.token}, {"press", press_json(e.press)}, {"record_has_room", e.record_has_room}};
  }
  json operator()(const procedure::PermitDurable& e) const { return {{"press", press_json(e.press)}}; }
  json operator()(const procedure::PermitRefused& e) const {
    return {{"refusal", e.refusal}, {"reason", wording::press_refusal(e.refusal)}};
  }
  json operator()(const procedure::PermitEnded& e) const {
    return {{"expired", e.expired}, {"proven_no_bite", e.proven_no_bite}};
  }
  json operator()(const procedure::BiteFinished& e) const {
    return {{"token", e.token},
            {"fault_code", e.fault_code},
            {"fault", wording::press_fault(e.fault_code)},
            {"trace_present", e.trace_present},
            {"samples_missing", e.samples_missing},
            {"peak_pressure_bar", e.peak_pressure_bar},
            {"trace_peak_pressure_bar", e.trace_peak_pressure_bar},
            {"peak_force_kn", e.peak_force_kn},
            {"dwell_ms", e.dwell_ms},
            {"least_gap_mm", e.least_gap_mm},
            {"force_at_envelope_gaps_kn", e.force_kn}};
  }
  json operator()(const procedure::Resume& e) const { return {{"another_open", e.another_open}}; }
  json operator()(const procedure::AcrossFlats& e) const {
    return {{"stations_mm", e.stations_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::GoGauge& e) const {
    return {{"result", wording::name_of(e.result)}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::NoGoGauge& e) const {
    return {{"result", wording::name_of(e.result)}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Growth& e) const {
    return {{"boundary_to_mouth_mm", e.boundary_to_mouth_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Straightness& e) const {
    return {{"value_mm", e.value_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Slip& e) const {
    return {{"mark_to_mouth_mm", e.mark_to_mouth_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::SurfaceSeen& e) const { return {{"result", wording::name_of(e.surface)}}; }
  json operator()(const procedure::Release& e) const {
    return {{"operator_signed_in", e.operator_signed_in}};
  }
  json operator()(const procedure::Dispose& e) const {
    return {{"disposition", wording::name_of(e.disposition)},
            {"reviewer", e.reviewer},
            {"items_free", e.items_free}};
  }
  json operator()(const procedure::ProofLoad& e) const {
    return {
        {"load_kn", e.load_kn}, {"held_s", e.held_s}, {"slip_mm", e.slip_mm}, {"tool", tool_json(e.tool)}};
  }
  json operator()(const procedure::Quarantined&) const { return json::object(); }
  json operator()(const procedure::BiteStarted&) const { return json::object(); }
  json operator()(const procedure::LinkLost&) const { return json::object(); }
  json operator()(const procedure::Restarted&) const { return json::object(); }
  json operator()(const procedure::UnaskedBite&) const { return json::object(); }
  json operator()(const procedure::Withdraw&) const { return json::object(); }
  json operator()(const procedure::PutAside&) const { return json::object(); }
  json operator()(const procedure::HoldByOperator&) const { return json::object(); }
  json operator()(const procedure::Judge&) const { return json::object(); }
};

}  // namespace

std::string to_json(const State& state) {
  json out = json::object();
  out["stage"] = wording::name_of(state.stage);
  if (state.aside_from != Stage::none) out["aside_from"] = wording::name_of(state.aside_from);
  if (state.held_from != Stage::none) out["held_from"] = wording::name_of(state.held_from);
  if (state.proposed) out["proposed"] = wording::name_of(*state.proposed);
  procedure::for_each_value(state, Write{out});
  out["go"] = wording::name_of(state.go);
  out["no_go"] = wording::name_of(state.no_go);
  out["surface"] = wording::name_of(state.surface);
  if (!state.standing.empty()) out["standing"] = findings_json(state.standing);
  return out.dump();
}

Result<State> state_from_json(const std::string& text) {
  try {
    const json from = json::parse(text);
    State state;
    state.stage = by_name(from.at("stage").get<std::string>(), Stage::aside);
    if (from.contains("aside_from"))
      state.aside_from = by_name(from.at("aside_from").get<std::string>(), Stage::aside);
    if (from.contains("held_from"))
      state.held_from = by_name(from.at("held_from").get<std::string>(), Stage::aside);
    if (from.contains("proposed"))
      state.proposed =
          by_name(from.at("proposed").get<std::string>(), procedure::Disposition::return_to_work);
    procedure::for_each_value(state, Read{from});
    state.go = by_name(from.at("go").get<std::string>(), Limit::stops);
    state.no_go = by_name(from.at("no_go").get<std::string>(), Limit::stops);
    state.surface = by_name(from.at("surface").get<std::string>(), Surface::wires_broken);
    if (from.contains("standing"))
      for (const json& finding : from.at("standing")) state.standing.push_back(finding_from(finding));
    return state;
  } catch (const std::exception& error) {
    return Problem{"state", error.what(), "a fitting's state as this program writes it"};
  }
}

std::string to_json(const procedure::Event& event) {
  return std::visit(EventJson{}, event).dump();
}

std::string to_json(const std::vector<Finding>& findings) {
  return findings_json(findings).dump();
}

}  // namespace shankwright::station
