#include "review/evidence.hpp"

#include <algorithm>
#include <map>

#include "review/layout.hpp"
#include "wording/wording.hpp"

namespace shankwright::review {
namespace {

Json parsed(const std::string& text) {
  auto out = Json::parse(text, nullptr, false);
  return out.is_discarded() ? Json(text) : out;
}

std::optional<procedure::Code> code_named(const std::string& name) {
  static const auto codes = [] {
    std::map<std::string, procedure::Code> all;
    for (int index = 0; index < static_cast<int>(procedure::Code::count_); ++index) {
      const auto code = static_cast<procedure::Code>(index);
      all.emplace(wording::name_of(code), code);
    }
    return all;
  }();
  const auto found = codes.find(name);
  return found == codes.end() ? std::nullopt : std::optional(found->second);
}

std::vector<FindingInWords> findings_of(const Json& list) {
  std::vector<FindingInWords> out;
  if (!list.is_array()) return out;
  for (const auto& item : list) {
    FindingInWords finding;
    finding.code = text_at(item, {"code"});
    finding.found = number_at(item, {"found"}).value_or(0);
    finding.least = number_at(item, {"least"}).value_or(0);
    finding.most = number_at(item, {"most"}).value_or(0);
    if (const auto code = code_named(finding.code)) {
      auto words = wording::describe({*code, finding.found, finding.least, finding.most});
      finding.what = std::move(words.what);
      finding.what_to_do = std::move(words.what_to_do);
    } else {
      finding.what = finding.code;
    }
    out.push_back(std::move(finding));
  }
  return out;
}

EntryEvidence entry_of(const ports::StoredEntry& stored) {
  EntryEvidence out;
  out.sequence = stored.sequence;
  out.at_utc_us = stored.entry.at_utc_us;
  out.kind = stored.entry.kind;
  out.event = stored.entry.event;
  out.actor = stored.entry.actor;
  out.stage = stored.entry.stage;
  out.body = parsed(stored.entry.body_json);
  if (const auto& fields = at_path(out.body, {"event"}); fields.is_object()) out.event_fields = fields;
  if (const auto& orders = at_path(out.body, {"orders"}); orders.is_array()) out.orders = orders;
  out.findings = findings_of(at_path(out.body, {"findings"}));
  // The gauge stands beside the event; an entry that has it inside means the same.
  out.gauge = text_at(out.body, {"gauge"});
  if (out.gauge.empty()) out.gauge = text_at(out.event_fields, {"gauge"});
  out.gauge_calibration_due = text_at(out.body, {"gauge_calibration_due"});
  out.reason = text_at(out.body, {"reason"});
  out.note = text_at(out.body, {"note"});
  if (out.kind == "correction") {
    out.text = text_at(out.body, {"text"});
    if (const auto& of = at_path(out.body, {"of"}); of.is_number_integer())
      out.corrects = of.get<std::int64_t>();
  }
  if (out.event == "turn") {
    const auto state = parsed(stored.entry.state_json);
    out.angle_deg = number_at(state, {"angle_deg"});
    out.previous_angle_deg = number_at(state, {"previous_angle_deg"});
  }
  return out;
}

BiteEvidence bite_of(const EntryEvidence& entry, const std::vector<ports::Sample>& trace) {
  BiteEvidence out;
  out.sequence = entry.sequence;
  out.at_utc_us = entry.at_utc_us;
  const auto whole = [&](const Json& from, const char* key) -> std::optional<int> {
    const auto& value = at_path(from, {key});
    return value.is_number_integer() ? std::optional(value.get<int>()) : std::nullopt;
  };
  out.pass = whole(entry.body, "pass");
  out.bite = whole(entry.body, "bite");
  out.peak_pressure_bar = number_at(entry.event_fields, {"peak_pressure_bar"});
  out.peak_force_kn = number_at(entry.event_fields, {"peak_force_kn"});
  out.least_gap_mm = number_at(entry.event_fields, {"least_gap_mm"});
  out.dwell_ms = number_at(entry.event_fields, {"dwell_ms"});
  if (const auto& missing = at_path(entry.event_fields, {"samples_missing"}); missing.is_number_unsigned())
    out.samples_missing = missing.get<std::uint32_t>();
  if (const auto& forces = at_path(entry.event_fields, {"force_at_envelope_gaps_kn"}); forces.is_array())
    for (const auto& force : forces)
      if (force.is_number()) out.force_at_envelope_gaps_kn.push_back(force.get<double>());
  if (const auto& accepted = at_path(entry.body, {"accepted_force"}); accepted.is_array())
    out.accepted_force = accepted;
  out.trace = trace;
  if (!trace.empty()) out.summary = summary_of(trace);
  return out;
}

/// The gauge as the recipe names it; an object without keys where it does not.
const Json& gauge_in(const Json& recipe, const std::string& id) {
  static const Json none = Json::object();
  for (const auto* key : {"go_gauge", "no_go_gauge"})
    if (text_at(recipe, {key, "id"}) == id) return recipe.at(key);
  if (const auto& measuring = at_path(recipe, {"measuring_gauges"}); measuring.is_array())
    for (const auto& gauge : measuring)
      if (text_at(gauge, {"id"}) == id) return gauge;
  return none;
}

void note_gauge(Evidence& evidence, const EntryEvidence& entry) {
  if (entry.gauge.empty() || entry.kind == "refused") return;
  auto gauge = std::find_if(evidence.gauges.begin(), evidence.gauges.end(),
                            [&](const auto& known) { return known.id == entry.gauge; });
  if (gauge == evidence.gauges.end()) {
    const auto& known = gauge_in(evidence.recipe, entry.gauge);
    const auto kind = text_at(known, {"kind"});
    gauge = evidence.gauges.insert(gauge, {entry.gauge, kind, {}, {}, {}, {}});
    gauge->expanded_uncertainty = number_at(known, {"expanded_uncertainty_mm"});
    gauge->uncertainty_unit = kind == "protractor" ? "deg" : kind == "load_cell" ? "kN" : "mm";
  }
  if (std::find(gauge->used_for.begin(), gauge->used_for.end(), entry.event) == gauge->used_for.end())
    gauge->used_for.push_back(entry.event);
  const auto& due = entry.gauge_calibration_due;
  if (!due.empty() && (gauge->calibration_due.empty() || due < gauge->calibration_due))
    gauge->calibration_due = due;
}

void note_decision(Evidence& evidence, const EntryEvidence& entry) {
  if (entry.event == "admit" && evidence.registered.is_null())
    evidence.registered = at_path(entry.body, {"register"});
  const bool was_held =
      evidence.entries.size() > 1 && evidence.entries[evidence.entries.size() - 2].stage == "hold";
  if (entry.stage == "hold" && entry.kind != "refused" && !was_held)
    evidence.holds.push_back({entry.sequence, entry.at_utc_us, entry.actor, entry.findings});
  if (entry.stage == "released" && !evidence.released_utc_us) evidence.released_utc_us = entry.at_utc_us;
  if (entry.event != "dispose" || entry.kind == "refused") return;
  const auto& told = at_path(entry.body, {"signed"});
  const auto& proposed = at_path(entry.event_fields, {"proposed"});
  evidence.dispositions.push_back({entry.sequence, entry.at_utc_us, entry.actor,
                                   text_at(entry.event_fields, {"disposition"}), entry.reason,
                                   proposed.is_boolean() && proposed.get<bool>(),
                                   told.is_boolean() ? std::optional(told.get<bool>()) : std::nullopt});
}

void point_back(Evidence& evidence) {
  for (const auto& correction : evidence.entries) {
    if (!correction.corrects) continue;
    for (auto& entry : evidence.entries)
      if (entry.sequence == *correction.corrects && entry.sequence < correction.sequence)
        entry.corrected_by.push_back(correction.sequence);
  }
}

bool uses(const Evidence& evidence, const std::string& item, const std::string& id) {
  if (item == "rope_lot") return id == evidence.row.rope_lot;
  if (item == "terminal_lot") return id == evidence.row.terminal_lot;
  if (item == "die_pair") return id == evidence.row.die_pair_id;
  return item == "gauge" && std::any_of(evidence.gauges.begin(), evidence.gauges.end(),
                                        [&](const auto& gauge) { return gauge.id == id; });
}

std::vector<QuarantineEvidence> quarantines_of(const Evidence& evidence,
                                               const std::vector<ports::StoredEntry>& station) {
  std::vector<QuarantineEvidence> out;
  for (const auto& stored : station) {
    const bool lifted = stored.entry.event == "quarantine_lifted";
    if (!lifted && stored.entry.event != "quarantined") continue;
    const auto body = parsed(stored.entry.body_json);
    const auto item = text_at(body, {"item"}), id = text_at(body, {"id"});
    if (!uses(evidence, item, id)) continue;
    out.push_back({stored.sequence, stored.entry.at_utc_us, stored.entry.actor, item, id,
                   text_at(body, {"reason"}), lifted});
  }
  return out;
}

}  // namespace

const Json& at_path(const Json& from, std::initializer_list<const char*> path) {
  static const Json nothing;
  const Json* at = &from;
  for (const auto* key : path) {
    if (!at->is_object()) return nothing;
    const auto found = at->find(key);
    if (found == at->end()) return nothing;
    at = &*found;
  }
  return *at;
}

std::optional<double> number_at(const Json& from, std::initializer_list<const char*> path) {
  const auto& found = at_path(from, path);
  return found.is_number() ? std::optional(found.get<double>()) : std::nullopt;
}

std::string text_at(const Json& from, std::initializer_list<const char*> path) {
  const auto& found = at_path(from, path);
  if (found.is_string()) return found.get<std::string>();
  return found.is_number() ? number_text(found.get<double>()) : "";
}

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> all{
      "Shankwright is not a safety function: two-hand control, guards, emergency stop and pressure relief "
      "belong to the "
      "press.",
      "What is written here does not replace the terminal and rope makers' instructions, local codes or a "
      "competent "
      "person's "
      "judgement."};
  return all;
}

bool accepted_by_disposition(const Evidence& evidence) {
  return evidence.row.stage == "released" &&
         std::any_of(evidence.dispositions.begin(), evidence.dispositions.end(),
                     [](const auto& one) { return !one.proposed && one.disposition == "use_as_is"; });
}

std::vector<QuarantineEvidence> still_quarantined(const Evidence& evidence) {
  std::vector<QuarantineEvidence> out;
  for (const auto& one : evidence.quarantines) {
    std::erase_if(out, [&](const auto& earlier) { return earlier.item == one.item && earlier.id == one.id; });
    if (!one.lifted) out.push_back(one);
  }
  return out;
}

Result<Evidence> collect(const ports::RecordStore& record, const std::string& serial, Traces traces) {
  const auto row = record.fitting(serial);
  if (!row.ok()) return row.problem();
  const auto stored = record.entries(row.value().serial, traces == Traces::with);
  if (!stored.ok()) return stored.problem();
  const auto station = record.entries_of_kind("station", 0);
  if (!station.ok()) return station.problem();
  Evidence out;
  out.row = row.value();
  out.recipe = parsed(out.row.joined_recipe_json);
  out.state = parsed(out.row.state_json);
  out.standing = findings_of(at_path(out.state, {"standing"}));
  for (const auto& item : stored.value()) {
    const auto& entry = out.entries.emplace_back(entry_of(item));
    note_gauge(out, entry);
    note_decision(out, entry);
    const bool is_bite = entry.event == "bite_finished" || !item.entry.trace.empty();
    if (is_bite) out.bites.push_back(bite_of(entry, item.entry.trace));
  }
  point_back(out);
  out.quarantines = quarantines_of(out, station.value());
  if (const auto seal = record.seal_over(out.row.serial); seal.ok())
    out.seal = seal.value();
  else
    out.not_sealed_because = seal.problem().place == "seal" ? seal.problem().found : seal.problem().text();
  return out;
}

}  // namespace shankwright::review
