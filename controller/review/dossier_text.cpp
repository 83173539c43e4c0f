#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <tuple>

#include "record/seal_code.hpp"
#include "review/dossier.hpp"
#include "review/entry_words.hpp"
#include "review/evidence.hpp"
#include "review/layout.hpp"
#include "review/time.hpp"

namespace shankwright::review {
namespace {

constexpr std::size_t page_columns = 110;

using Rows = std::vector<std::vector<std::string>>;

std::string with_unit(const std::optional<double>& value, std::string_view unit) {
  return value ? number_text(*value) + " " + std::string(unit) : "-";
}

// "520 kN" of a recipe's number, "-" where the recipe does not say.
std::string said(const Json& recipe, std::initializer_list<const char*> path, std::string_view unit) {
  return with_unit(number_at(recipe, path), unit);
}

std::string band(const Json& of, std::string_view unit) {
  const auto least = number_at(of, {"least"}), most = number_at(of, {"most"});
  return least && most ? fmt::format("{} to {} {}", number_text(*least), number_text(*most), unit) : "-";
}

std::string percent(const Json& of) {
  const auto least = number_at(of, {"least"}), most = number_at(of, {"most"});
  return least && most ? fmt::format("{} to {} %", number_text(*least * 100), number_text(*most * 100)) : "-";
}

std::string fitting_part(const Evidence& evidence) {
  const auto& row = evidence.row;
  Rows rows{{"verdict", state_text(evidence)},
            {"job", row.job},
            {"operator", row.operator_id},
            {"rope lot", row.rope_lot},
            {"terminal lot", row.terminal_lot},
            {"die pair", row.die_pair_id},
            {"press", text_at(evidence.recipe, {"press", "id"})},
            {"started", utc_text(row.started_utc_us, 3)},
            {"last entry", utc_text(row.changed_utc_us, 3)}};
  return "Fitting\n" + columns(rows, "  ");
}

std::string recipe_part(const Evidence& evidence) {
  const auto& all = evidence.recipe;
  const auto& recipe = at_path(all, {"recipe"});
  Rows rows{
      {"recipe", fmt::format("{} revision {}, {}", evidence.row.recipe_id, evidence.row.recipe_revision,
                             text_at(recipe, {"status"}))},
      {"rope",
       fmt::format("{}: {}, {} nominal, accepted {}", text_at(all, {"rope", "id"}),
                   text_at(all, {"rope", "construction"}), said(all, {"rope", "nominal_diameter_mm"}, "mm"),
                   band(at_path(all, {"rope", "diameter_mm"}), "mm"))},
      {"terminal", fmt::format("{}: shank {}, bore {}, swage length {}", text_at(all, {"terminal", "id"}),
                               band(at_path(all, {"terminal", "shank_diameter_mm"}), "mm"),
                               said(all, {"terminal", "bore_diameter_mm"}, "mm"),
                               said(all, {"terminal", "swage_length_mm"}, "mm"))},
      {"die pair",
       fmt::format("{}: {}, across flats {}, length {}, tag {}", text_at(all, {"die_pair", "id"}),
                   text_at(all, {"die_pair", "shape"}), said(all, {"die_pair", "across_flats_mm"}, "mm"),
                   said(all, {"die_pair", "length_mm"}, "mm"), text_at(all, {"die_pair", "tag"}))},
      {"squeeze",
       fmt::format("{} passes, target {}, peak {}, dwell {}, closed at {}", text_at(recipe, {"passes"}),
                   said(recipe, {"target_force_kn"}, "kN"), band(at_path(recipe, {"peak_force_kn"}), "kN"),
                   said(recipe, {"dwell_ms"}, "ms"), said(recipe, {"closed_gap_mm"}, "mm"))},
      {"after",
       fmt::format("across flats {}, growth {}, bent at most {}, slip at most {}",
                   band(at_path(recipe, {"across_flats_mm"}), "mm"),
                   percent(at_path(recipe, {"growth_fraction"})), said(recipe, {"straightness_mm_max"}, "mm"),
                   said(recipe, {"slip_mm_max"}, "mm"))}};
  return "Recipe as it was\n" + columns(rows, "  ");
}

std::string registered_part(const Evidence& evidence) {
  const auto& told = evidence.registered;
  if (!told.is_object()) return "";
  Rows rows;
  const auto say = [&](const char* name, const std::string& words) {
    if (!words.empty()) rows.push_back({name, words});
  };
  const auto with = [&](std::initializer_list<const char*> path, const std::string& before,
                        const char* after = "") {
    const auto value = text_at(told, path);
    return value.empty() ? std::string() : before + value + after;
  };
  say("operator",
      with({"operator", "name"}, "") + with({"operator", "qualified_until"}, ", qualified until "));
  say("die pair", with({"die_pair", "serial"}, "serial ") +
                      with({"die_pair", "strokes"}, ", ", " strokes done") +
                      with({"die_pair", "life_strokes"}, " of ") +
                      with({"die_pair", "inspection_due"}, ", inspection due "));
  say("press", with({"press", "calibration_due"}, "calibration due "));
  say("rope lot", with({"rope_lot", "certificate"}, "certificate "));
  say("terminal lot", with({"terminal_lot", "certificate"}, "certificate "));
  return rows.empty() ? "" : "\nRegister at admission\n" + columns(rows, "  ");
}

std::string gauges_part(const Evidence& evidence) {
  Rows rows;
  for (const auto& gauge : evidence.gauges) {
    std::string uses;
    for (const auto& use : gauge.used_for) uses += (uses.empty() ? "" : ", ") + spoken(use);
    rows.push_back(
        {gauge.id, uses, gauge.calibration_due.empty() ? "" : "calibration due " + gauge.calibration_due});
  }
  return rows.empty() ? "" : "\nGauges used\n" + columns(rows, "  ");
}

std::string quarantines_part(const Evidence& evidence) {
  std::string out;
  for (const auto& one : evidence.quarantines)
    out += wrapped(
        fmt::format("{}  {} {} {} by {}: {}", utc_text(one.at_utc_us, 0), spoken(one.item), one.id,
                    one.lifted ? "freed from quarantine" : "put under quarantine", one.actor, one.reason),
        "  ", page_columns);
  return out.empty() ? "" : "\nQuarantine\n" + out;
}

std::string seal_part(const Evidence& evidence) {
  if (!evidence.seal)
    return "\nIntegrity\n" + wrapped("not sealed yet: " + evidence.not_sealed_because, "  ", page_columns);
  return "\nIntegrity\n" +
         columns({{"sealed",
                   fmt::format("{} over entry {} and all before ({})", utc_text(evidence.seal->at_utc_us, 0),
                               evidence.seal->sequence, spoken(evidence.seal->why))},
                  {"short code", record::short_code(*evidence.seal)}},
                 "  ");
}

// Force at the envelope's gaps as the station read it off the closing trace, beside what was accepted.
Rows envelope_rows(const Evidence& evidence, const BiteEvidence& bite) {
  Rows rows;
  const auto& gaps = accepted_force_of(evidence, bite);
  for (std::size_t index = 0; index < bite.force_at_envelope_gaps_kn.size() && index < gaps.size(); ++index)
    rows.push_back({"gap " + said(gaps[index], {"gap_mm"}, "mm"),
                    with_unit(bite.force_at_envelope_gaps_kn[index], "kN"),
                    (bite.accepted_force.is_array() ? "accepted " : "for a whole die length ") +
                        band(at_path(gaps[index], {"force_kn"}), "kN")});
  return rows;
}

std::string bites_part(const Evidence& evidence) {
  if (evidence.bites.empty()) return "";
  std::string out = "\nBites\n";
  for (const auto& bite : evidence.bites) {
    const auto& summary = bite.summary;
    const auto peak = summary ? std::optional(summary->peak_pressure_bar) : bite.peak_pressure_bar;
    const auto gap = summary ? std::optional(summary->least_gap_mm) : bite.least_gap_mm;
    out +=
        fmt::format("  pass {}, bite {}   entry {}   {}\n", bite.pass ? std::to_string(*bite.pass) : "-",
                    bite.bite ? std::to_string(*bite.bite) : "-", bite.sequence, utc_text(bite.at_utc_us, 3));
    out += fmt::format("    peak {}, {}; least gap {}; dwell {}\n", with_unit(bite.peak_force_kn, "kN"),
                       with_unit(peak, "bar"), with_unit(gap, "mm"), with_unit(bite.dwell_ms, "ms"));
    out += fmt::format(
        "    {} samples{}; missing: {}\n", bite.trace.size(),
        summary ? fmt::format(" in {} ms, longest step {} ms", summary->duration_ms, summary->longest_step_ms)
                : std::string(),
        bite.samples_missing ? std::to_string(*bite.samples_missing) : "not stated");
    if (const auto line = bars(pressure_while_closing(bite.trace, 40)); !line.empty())
      out += "    force while the dies close  |" + line + "|\n";
    out += columns(envelope_rows(evidence, bite), "    ");
  }
  return out;
}

std::string entry_text(const EntryEvidence& entry) {
  std::string said_here = fields_text(entry.event_fields);
  // Admission is a page of yes and no whose noes stand in the findings; a bite has its own place above.
  if (entry.event == "admit" || entry.event == "bite_finished") said_here.clear();
  if (!entry.gauge.empty()) said_here += (said_here.empty() ? "" : ", ") + std::string("with ") + entry.gauge;
  auto head = fmt::format("  {:>5}  {}  {:<8}  {}, by {}", entry.sequence, utc_text(entry.at_utc_us, 3),
                          entry.kind, spoken(entry.event), shown(entry.actor));
  std::string out = head + "\n";
  const std::string indent(9, ' ');
  if (!said_here.empty()) out += wrapped(said_here, indent, page_columns);
  for (const auto& finding : entry.findings) {
    out += wrapped("! " + finding.what, indent, page_columns);
    if (!finding.what_to_do.empty()) out += wrapped(finding.what_to_do, indent + "  ", page_columns);
  }
  if (!entry.reason.empty()) out += wrapped("reason given: " + entry.reason, indent, page_columns);
  if (!entry.text.empty()) out += wrapped("correction: " + entry.text, indent, page_columns);
  if (entry.corrects) out += fmt::format("{}corrects entry {}\n", indent, *entry.corrects);
  for (const auto later : entry.corrected_by) out += fmt::format("{}corrected by entry {}\n", indent, later);
  if (!entry.note.empty()) out += wrapped("note: " + entry.note, indent, page_columns);
  if (entry.body.is_string()) out += wrapped(entry.body.get<std::string>(), indent, page_columns);
  return out;
}

}  // namespace

Result<std::string> dossier_text(const ports::RecordStore& record, const std::string& serial) {
  const auto evidence = collect(record, serial);
  if (!evidence.ok()) return evidence.problem();
  const auto& all = evidence.value();
  std::string out = fmt::format("Dossier of {}: {}\n", all.row.serial, state_text(all));
  for (const auto& caution : cautions()) out += wrapped(caution, "", page_columns);
  out += "\n" + fitting_part(all);
  for (const auto& finding : all.standing) out += wrapped("! " + finding.what, "  ", page_columns);
  out += "\n" + recipe_part(all) + registered_part(all) + gauges_part(all) + bites_part(all) +
         quarantines_part(all) + seal_part(all) + "\nEntries\n";
  for (const auto& entry : all.entries) out += entry_text(entry);
  return out;
}

}  // namespace shankwright::review
