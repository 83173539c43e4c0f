#include <nlohmann/json.hpp>

#include "cut_list/length_text.hpp"

namespace shankwright::cut_list {
namespace {

using Json = nlohmann::json;

template <typename Findings>
Json findings(const Document& document, const Findings& list) {
  Json out = Json::array();
  for (const auto& finding : list) {
    const FilePlace place = document.place_of ? document.place_of(finding.path) : FilePlace{};
    out.push_back({{"code", planning::name_of(finding.code)},
                   {"file", document.file},
                   {"line", place.line == 0 ? Json(nullptr) : Json(place.line)},
                   {"column", place.line == 0 ? Json(nullptr) : Json(place.column)},
                   {"path", finding.path},
                   {"found", finding.found},
                   {"expected", finding.expected}});
  }
  return out;
}

const char* unit_of(planning::TermUnit unit) {
  switch (unit) {
    case planning::TermUnit::length_mm:
      return "mm";
    case planning::TermUnit::force_kn:
      return "kN";
    case planning::TermUnit::stress_mpa:
      return "MPa";
    case planning::TermUnit::share:
      return "1";
  }
  return "";
}

Json line_json(const planning::Line& line) {
  const planning::LineWords& words = planning::words_of(line.kind);
  Json terms = Json::array();
  for (const planning::Term& term : line.terms)
    terms.push_back({{"name", term.name}, {"value", term.value}, {"unit", unit_of(term.unit)}});
  return {{"line", words.name},
          {"end", line.end < 0 ? Json(nullptr) : Json(line.end == 0 ? "A" : "B")},
          {"value_mm", line.value_mm},
          {"uncertainty_mm", line.uncertainty_mm},
          {"total_mm", line.running_mm},
          {"formula", planning::formula_of(line)},
          {"given_by_job", line.given},
          {"figures", terms},
          {"why", words.why},
          {"source", line.source}};
}

Json assembly_json(const planning::AssemblyPlan& planned) {
  const planning::Assembly& a = planned.assembly;
  const planning::Account& account = planned.account;
  Json ends = Json::array();
  for (std::size_t i = 0; i < 2; ++i) {
    ends.push_back({{"made", name_of(a.ends[i].making)},
                    {"recipe", a.ends[i].recipe.empty() ? Json(nullptr) : Json(a.ends[i].recipe)},
                    {"what", a.ends[i].what.empty() ? Json(nullptr) : Json(a.ends[i].what)},
                    {"rope_inside_mm", account.rope_inside_mm[i]},
                    {"growth_mm", account.growth_mm[i]}});
  }
  Json lines = Json::array();
  for (const planning::Line& line : account.lines) lines.push_back(line_json(line));
  return {{"mark", a.mark},
          {"pieces", a.quantity},
          {"rope", a.rope},
          {"ends", ends},
          {"pin_to_pin_mm", a.pin_to_pin_mm},
          {"tension_kn", a.tension_kn},
          {"tension_share", planned.tension_share},
          {"elastic_strain", account.elastic_strain},
          {"elastic_modulus_mpa", account.modulus.taken_mpa},
          {"constructional_stretch", account.constructional_stretch},
          {"free_rope_under_tension_mm", account.free_rope_under_tension_mm},
          {"free_rope_at_rest_mm", account.free_rope_at_rest_mm},
          {"cut_length_mm", account.cut_length_mm},
          {"uncertainty_mm", account.uncertainty_mm},
          {"coverage_factor", 2},
          {"account", lines}};
}

Json bill_json(const planning::Bill& bill) {
  Json out = {{"ropes", Json::array()},
              {"terminals", Json::array()},
              {"other_ends", Json::array()},
              {"recipes", Json::array()}};
  for (const planning::RopeNeed& need : bill.ropes) {
    Json pieces = Json::array();
    for (const planning::Piece& piece : need.pieces)
      pieces.push_back({{"for", piece.what_for}, {"length_mm", piece.length_mm}, {"count", piece.count}});
    out["ropes"].push_back({{"rope", need.rope},
                            {"pieces", pieces},
                            {"pieces_mm", need.pieces_mm},
                            {"cutting_loss_mm", need.cutting_loss_mm},
                            {"spare_mm", need.spare_mm},
                            {"total_mm", need.total_mm},
                            {"mass_kg", need.mass_kg ? Json(*need.mass_kg) : Json(nullptr)}});
  }
  for (const planning::TerminalNeed& need : bill.terminals) {
    out["terminals"].push_back({{"terminal", need.terminal},
                                {"end", need.end ? Json(name_of(*need.end)) : Json(nullptr)},
                                {"assemblies", need.assemblies},
                                {"samples", need.samples},
                                {"spare", need.spare},
                                {"total", need.total}});
  }
  for (const planning::OtherEndNeed& need : bill.other_ends)
    out["other_ends"].push_back({{"what", need.what}, {"made", name_of(need.making)}, {"count", need.count}});
  for (const planning::RecipeNeed& need : bill.recipes) {
    out["recipes"].push_back({{"recipe", need.recipe},
                              {"revision", need.revision},
                              {"terminal", need.terminal},
                              {"die_pair", need.die_pair},
                              {"die_tag", need.die_tag},
                              {"press", need.press},
                              {"target_force_kn", need.target_force_kn},
                              {"go_gauge", need.go_gauge},
                              {"no_go_gauge", need.no_go_gauge},
                              {"measuring_gauges", need.measuring_gauges},
                              {"fittings", need.fittings},
                              {"bites_by_pass", need.bites_by_pass},
                              {"strokes", need.strokes}});
  }
  return out;
}

}  // namespace

std::string json(const Document& document) {
  Json out = {{"job", nullptr}, {"faults", Json::array()}, {"assemblies", Json::array()}, {"bill", nullptr}};
  for (const Problem& fault : document.faults)
    out["faults"].push_back({{"place", fault.place}, {"found", fault.found}, {"expected", fault.expected}});
  out["refusals"] = findings(document, document.plan.refusals);
  out["cautions"] = findings(document, document.plan.cautions);
  if (document.faults.empty())
    out["job"] = {{"id", document.job.id}, {"title", document.job.title}, {"source", document.job.source}};
  if (document.faults.empty() && document.plan.refusals.empty()) {
    for (const planning::AssemblyPlan& planned : document.plan.assemblies)
      out["assemblies"].push_back(assembly_json(planned));
    out["bill"] = bill_json(document.plan.bill);
  }
  out["standing_cautions"] = standing_cautions();
  return out.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace shankwright::cut_list
