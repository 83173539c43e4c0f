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
  out.reason = text_at(out.body, {"reason"});
  out.note = text_at(out.body, {"note"});
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

void note_gauge(Evidence& evidence, const EntryEvidence& entry) {
  if (entry.gauge.empty() || entry.kind == "refused") return;
  auto gauge = std::find_if(evidence.gauges.begin(), evidence.gauges.end(),
                            [&](const auto& known) { return known.first == entry.gauge; });
  if (gauge == evidence.gauges.end()) gauge = evidence.gauges.insert(gauge, {entry.gauge, {}});
  if (std::find(gauge->second.begin(), gauge->second.end(), entry.event) == gauge->second.end())
    gauge->second.push_back(entry.event);
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
      "This dossier does not replace the terminal and rope makers' instructions, local codes or a competent "
      "person's "
      "judgement."};
  return all;
}

Result<Evidence> collect(const ports::RecordStore& record, const std::string& serial) {
  const auto row = record.fitting(serial);
  if (!row.ok()) return row.problem();
  const auto stored = record.entries(row.value().serial, true);
  if (!stored.ok()) return stored.problem();
  Evidence out;
  out.row = row.value();
  out.recipe = parsed(out.row.joined_recipe_json);
  out.state = parsed(out.row.state_json);
  out.standing = findings_of(at_path(out.state, {"standing"}));
  for (const auto& item : stored.value()) {
    const auto& entry = out.entries.emplace_back(entry_of(item));
    note_gauge(out, entry);
    const bool is_bite = entry.event == "bite_finished" || !item.entry.trace.empty();
    if (is_bite) out.bites.push_back(bite_of(entry, item.entry.trace));
  }
  return out;
}

}  // namespace shankwright::review
