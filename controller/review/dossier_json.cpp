#include <nlohmann/json.hpp>

#include "review/dossier.hpp"
#include "review/evidence.hpp"
#include "review/time.hpp"

namespace shankwright::review {
namespace {

template <typename T>
Json or_null(const std::optional<T>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json findings_json(const std::vector<FindingInWords>& findings) {
  auto out = Json::array();
  for (const auto& finding : findings)
    out.push_back({{"code", finding.code},
                   {"what", finding.what},
                   {"what_to_do", finding.what_to_do},
                   {"found", finding.found},
                   {"least", finding.least},
                   {"most", finding.most}});
  return out;
}

Json fitting_json(const Evidence& evidence) {
  const auto& row = evidence.row;
  return {{"serial", row.serial},
          {"verdict", row.verdict},
          {"stage", row.stage},
          {"job", row.job},
          {"operator", row.operator_id},
          {"recipe", row.recipe_id},
          {"revision", row.recipe_revision},
          {"rope", text_at(evidence.recipe, {"rope", "id"})},
          {"rope_lot", row.rope_lot},
          {"terminal", text_at(evidence.recipe, {"terminal", "id"})},
          {"terminal_lot", row.terminal_lot},
          {"die_pair", row.die_pair_id},
          {"press", text_at(evidence.recipe, {"press", "id"})},
          {"started_utc", utc_text(row.started_utc_us)},
          {"changed_utc", utc_text(row.changed_utc_us)}};
}

Json bite_json(const BiteEvidence& bite) {
  const auto& summary = bite.summary;
  auto rows = Json::array();
  for (const auto& sample : bite.trace) rows.push_back({sample.time_ms, sample.pressure_bar, sample.gap_mm});
  // The trace speaks first; the press's own registers where there is none.
  const auto peak = summary ? std::optional(summary->peak_pressure_bar) : bite.peak_pressure_bar;
  const auto gap = summary ? std::optional(summary->least_gap_mm) : bite.least_gap_mm;
  return {{"entry", bite.sequence},
          {"at_utc", utc_text(bite.at_utc_us)},
          {"pass", or_null(bite.pass)},
          {"bite", or_null(bite.bite)},
          {"peak_pressure_bar", or_null(peak)},
          {"peak_force_kn", or_null(bite.peak_force_kn)},
          {"least_gap_mm", or_null(gap)},
          {"dwell_ms", or_null(bite.dwell_ms)},
          {"duration_ms", summary ? Json(summary->duration_ms) : Json(nullptr)},
          {"force_at_envelope_gaps_kn", bite.force_at_envelope_gaps_kn},
          {"accepted_force", bite.accepted_force},
          {"samples", bite.trace.size()},
          {"samples_missing", or_null(bite.samples_missing)},
          {"longest_step_ms", summary ? Json(summary->longest_step_ms) : Json(nullptr)},
          {"rows", std::move(rows)}};
}

Json entry_json(const EntryEvidence& entry) {
  return {{"sequence", entry.sequence}, {"at_utc", utc_text(entry.at_utc_us)},
          {"kind", entry.kind},         {"event", entry.event},
          {"actor", entry.actor},       {"stage", entry.stage},
          {"gauge", entry.gauge},       {"reason", entry.reason},
          {"note", entry.note},         {"findings", findings_json(entry.findings)},
          {"orders", entry.orders},     {"body", entry.body}};
}

}  // namespace

Result<std::string> dossier_json(const ports::RecordStore& record, const std::string& serial) {
  const auto evidence = collect(record, serial);
  if (!evidence.ok()) return evidence.problem();
  const auto& all = evidence.value();
  auto gauges = Json::array();
  for (const auto& [id, used_for] : all.gauges) gauges.push_back({{"id", id}, {"used_for", used_for}});
  auto bites = Json::array();
  for (const auto& bite : all.bites) bites.push_back(bite_json(bite));
  auto entries = Json::array();
  for (const auto& entry : all.entries) entries.push_back(entry_json(entry));
  const Json dossier{{"format", "shankwright dossier 1"},
                     {"cautions", cautions()},
                     {"fitting", fitting_json(all)},
                     {"recipe", all.recipe},
                     {"state", all.state},
                     {"standing", findings_json(all.standing)},
                     {"gauges", std::move(gauges)},
                     {"bites", std::move(bites)},
                     {"entries", std::move(entries)}};
  // A text that is not UTF-8 must not keep the rest of the evidence from being read.
  return dossier.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace shankwright::review
