#include <nlohmann/json.hpp>

#include "record/seal_code.hpp"
#include "review/dossier.hpp"
#include "review/evidence.hpp"
#include "review/measurement.hpp"
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
  return {{"sequence", entry.sequence},
          {"at_utc", utc_text(entry.at_utc_us)},
          {"kind", entry.kind},
          {"event", entry.event},
          {"actor", entry.actor},
          {"stage", entry.stage},
          {"gauge", entry.gauge},
          {"reason", entry.reason},
          {"note", entry.note},
          {"findings", findings_json(entry.findings)},
          {"orders", entry.orders},
          {"text", entry.text},
          {"corrects", or_null(entry.corrects)},
          {"corrected_by", entry.corrected_by},
          {"body", entry.body}};
}

std::string_view name_of(Dimension dimension) {
  switch (dimension) {
    case Dimension::length:
      return "mm";
    case Dimension::angle:
      return "deg";
    case Dimension::fraction:
      return "fraction";
    case Dimension::force:
      return "kN";
    case Dimension::duration:
      return "ms";
    case Dimension::words:
      break;
  }
  return "";
}

std::string_view name_of(Against against) {
  switch (against) {
    case Against::inside:
      return "inside";
    case Against::outside:
      return "outside";
    case Against::not_proven:
      return "not_proven";
    case Against::no_limits:
      break;
  }
  return "no_limits";
}

Json measurements_json(const Evidence& evidence) {
  auto out = Json::array();
  for (const auto& read : measurements(evidence))
    out.push_back({{"entry", read.sequence},
                   {"event", read.event},
                   {"name", read.name},
                   {"pass", or_null(read.pass)},
                   {"bite", or_null(read.bite)},
                   {"unit", name_of(read.dimension)},
                   {"values", read.values},
                   {"said", read.words},
                   {"wanted", read.wanted},
                   {"least", or_null(read.least)},
                   {"most", or_null(read.most)},
                   {"against", name_of(read.against)},
                   {"gauge", read.gauge},
                   {"gauge_calibration_due", read.gauge_calibration_due},
                   {"superseded", read.superseded}});
  return out;
}

Json holds_json(const Evidence& evidence) {
  auto out = Json::array();
  for (const auto& hold : evidence.holds)
    out.push_back({{"entry", hold.sequence},
                   {"at_utc", utc_text(hold.at_utc_us)},
                   {"actor", hold.actor},
                   {"findings", findings_json(hold.findings)}});
  return out;
}

Json dispositions_json(const Evidence& evidence) {
  auto out = Json::array();
  for (const auto& one : evidence.dispositions)
    out.push_back({{"entry", one.sequence},
                   {"at_utc", utc_text(one.at_utc_us)},
                   {"actor", one.actor},
                   {"disposition", one.disposition},
                   {"reason", one.reason},
                   {"proposed", one.proposed},
                   {"signed", or_null(one.signed_with_pin)}});
  return out;
}

Json quarantines_json(const Evidence& evidence) {
  auto out = Json::array();
  for (const auto& one : evidence.quarantines)
    out.push_back({{"entry", one.sequence},
                   {"at_utc", utc_text(one.at_utc_us)},
                   {"actor", one.actor},
                   {"item", one.item},
                   {"id", one.id},
                   {"reason", one.reason},
                   {"lifted", one.lifted}});
  return out;
}

Json seal_json(const Evidence& evidence) {
  if (!evidence.seal) return nullptr;
  const auto& seal = *evidence.seal;
  return {{"sequence", seal.sequence},
          {"at_utc", utc_text(seal.at_utc_us)},
          {"why", seal.why},
          {"head", seal.head_hex},
          {"public_key", seal.public_key_hex},
          {"signature", seal.signature_hex},
          {"full_code", record::full_code(seal)},
          {"short_code", record::short_code(seal)}};
}

}  // namespace

Result<std::string> dossier_json(const ports::RecordStore& record, const std::string& serial) {
  const auto evidence = collect(record, serial);
  if (!evidence.ok()) return evidence.problem();
  const auto& all = evidence.value();
  auto gauges = Json::array();
  for (const auto& gauge : all.gauges)
    gauges.push_back({{"id", gauge.id},
                      {"kind", gauge.kind},
                      {"used_for", gauge.used_for},
                      {"calibration_due", gauge.calibration_due}});
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
                     {"registered", all.registered},
                     {"gauges", std::move(gauges)},
                     {"measurements", measurements_json(all)},
                     {"holds", holds_json(all)},
                     {"dispositions", dispositions_json(all)},
                     {"quarantines", quarantines_json(all)},
                     {"seal", seal_json(all)},
                     {"not_sealed_because", all.not_sealed_because},
                     {"bites", std::move(bites)},
                     {"entries", std::move(entries)}};
  // A text that is not UTF-8 must not keep the rest of the evidence from being read.
  return dossier.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace shankwright::review
