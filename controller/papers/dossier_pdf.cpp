#include "papers/dossier_pdf.hpp"

#include <fmt/format.h>

#include "papers/document.hpp"
#include "papers/dossier_bites.hpp"
#include "papers/integrity_box.hpp"
#include "papers/parts.hpp"
#include "review/entry_words.hpp"
#include "review/layout.hpp"
#include "review/time.hpp"

namespace shankwright::papers {
namespace {

using review::at_path;
using review::Evidence;
using review::number_at;
using review::text_at;
using typeset::colour::amber;
using typeset::colour::faint;
using typeset::colour::ink;
using typeset::colour::red;

std::string at_most(const review::Json& recipe, const char* key, UnitSystem units) {
  const auto value = number_at(recipe, {key});
  return value ? "at most " + quantity::length_text(*value, units) : "-";
}

std::string percent_band(const review::Json& of) {
  const auto least = number_at(of, {"least"}), most = number_at(of, {"most"});
  return least && most
             ? fmt::format("{} to {} %", review::number_text(*least * 100), review::number_text(*most * 100))
             : "-";
}

std::string plain(const std::string& text) {
  return text.empty() ? "-" : text;
}

std::string proof_asked(const review::Json& recipe, UnitSystem units) {
  const auto& proof = at_path(recipe, {"proof"});
  if (!proof.is_object()) return "not asked for";
  return fmt::format("at least {} for {} s, slip {}", force_or_dash(number_at(proof, {"load_kn"}), units),
                     plain(text_at(proof, {"hold_s"})), at_most(proof, "slip_mm_max", units));
}

void recipe_part(Sheet& sheet, const Evidence& evidence, UnitSystem units) {
  const auto& all = evidence.recipe;
  const auto& recipe = at_path(all, {"recipe"});
  sheet.heading("Recipe as it was when the fitting was begun");
  sheet.facts(
      {{"Recipe", fmt::format("{} revision {}, {}", evidence.row.recipe_id, evidence.row.recipe_revision,
                              plain(text_at(recipe, {"status"})))},
       {"Rope", fmt::format("{}, accepted {}", rope_short(evidence, units),
                            length_band(at_path(all, {"rope", "diameter_mm"}), units))},
       {"Breaking force",
        "at least " + force_or_dash(number_at(all, {"rope", "minimum_breaking_force_kn"}), units)},
       {"Shank", length_band(at_path(all, {"terminal", "shank_diameter_mm"}), units)},
       {"Bore",
        fmt::format("{}, depth {}", length_or_dash(number_at(all, {"terminal", "bore_diameter_mm"}), units),
                    length_band(at_path(all, {"terminal", "bore_depth_mm"}), units))},
       {"Swage length", length_or_dash(number_at(all, {"terminal", "swage_length_mm"}), units)},
       {"Dies", fmt::format("{}, across flats {}, length {}", plain(text_at(all, {"die_pair", "shape"})),
                            length_or_dash(number_at(all, {"die_pair", "across_flats_mm"}), units),
                            length_or_dash(number_at(all, {"die_pair", "length_mm"}), units))},
       {"Passes", fmt::format("{}, turned {} deg between", plain(text_at(recipe, {"passes"})),
                              plain(text_at(recipe, {"turn_deg"})))},
       {"Target force", force_or_dash(number_at(recipe, {"target_force_kn"}), units)},
       {"Peak force", force_band(at_path(recipe, {"peak_force_kn"}), units)},
       {"Dwell", plain(text_at(recipe, {"dwell_ms"})) + " ms at least"},
       {"Closed at", "gap " + at_most(recipe, "closed_gap_mm", units)},
       {"Across flats", length_band(at_path(recipe, {"across_flats_mm"}), units)},
       {"Growth", percent_band(at_path(recipe, {"growth_fraction"}))},
       {"Straightness", at_most(recipe, "straightness_mm_max", units)},
       {"Slip", at_most(recipe, "slip_mm_max", units)},
       {"Proof load", proof_asked(recipe, units)},
       {"Re-presses", "at most " + plain(text_at(recipe, {"re_presses_max"}))}});
  if (const auto source = text_at(recipe, {"source"}); !source.empty())
    sheet.facts({{"Source of values", source}}, 1);
}

void measurements_part(Sheet& sheet, const std::vector<review::Measurement>& read, UnitSystem units) {
  if (read.empty()) return;
  sheet.heading("Measured against limits");
  Table table{{{"Entry", 0.55},
               {"Measurement", 2.4},
               {"Found", 1.8},
               {"Limits", 1.6},
               {"", 0.75},
               {"Gauge (calibration due)", 2.2}},
              {}};
  bool superseded = false;
  for (const auto& one : read) {
    if (one.event == "bite_finished") continue;
    std::vector<Cell> row{{std::to_string(one.sequence)}};
    for (auto& cell : measurement_row(one, units, 100)) row.push_back(std::move(cell));
    if (one.superseded) {
      superseded = true;
      row[1].text += " *";
      for (auto& cell : row) cell.colour = faint;
    }
    table.rows.push_back(std::move(row));
  }
  sheet.table(table);
  if (superseded)
    sheet.paragraph("* read again later, or void since the fitting was pressed again",
                    {.size = 7.5, .colour = faint});
}

std::string entry_words(const review::EntryEvidence& entry) {
  std::string out;
  const auto say = [&](const std::string& words) {
    if (!words.empty()) out += (out.empty() ? "" : "; ") + words;
  };
  if (entry.event != "admit" && entry.event != "bite_finished") say(review::fields_text(entry.event_fields));
  if (!entry.gauge.empty())
    say("with " + entry.gauge +
        (entry.gauge_calibration_due.empty() ? "" : ", calibration due " + entry.gauge_calibration_due));
  for (const auto& finding : entry.findings) say(finding.what);
  if (!entry.text.empty()) say("correction: " + entry.text);
  if (entry.corrects) say("corrects entry " + std::to_string(*entry.corrects));
  for (const auto later : entry.corrected_by) say("CORRECTED by entry " + std::to_string(later));
  if (!entry.reason.empty()) say("reason given: " + entry.reason);
  if (!entry.note.empty()) say("note: " + entry.note);
  if (entry.body.is_string()) say(entry.body.get<std::string>());
  return out;
}

void entries_part(Sheet& sheet, const Evidence& evidence) {
  sheet.heading("Every entry on record");
  sheet.paragraph(
      "Oldest first, values as they were recorded. Entries are only ever added: a correction is a new entry "
      "that points at the old one.",
      {.size = 7.5, .colour = faint});
  Table table{{{"Entry", 0.6}, {"Time (UTC)", 2.05}, {"What", 1.85}, {"By", 1.3}, {"Said", 4.4}}, {}};
  for (const auto& entry : evidence.entries) {
    const bool notable = !entry.findings.empty() || !entry.corrected_by.empty() || entry.kind == "correction";
    auto time = review::utc_text(entry.at_utc_us, 0);
    time.pop_back();
    time[10] = ' ';
    table.rows.push_back(
        {{std::to_string(entry.sequence)},
         {time},
         {entry.kind == "evidence" ? review::spoken(entry.event)
                                   : review::spoken(entry.event) + " (" + review::spoken(entry.kind) + ")"},
         {entry.actor},
         {entry_words(entry), false, notable ? typeset::Colour{0.45, 0.16, 0.12} : ink}});
  }
  sheet.table(table);
}

void integrity_part(Sheet& sheet, const Evidence& evidence) {
  sheet.heading("Integrity", 130);
  if (evidence.seal) {
    integrity_box(sheet, *evidence.seal);
    return;
  }
  sheet.callout(
      "NOT SEALED. No seal covers everything this dossier shows, so it cannot be held against the record by "
      "a "
      "code. The station seals at every release, at shift end and at its start. " +
          evidence.not_sealed_because,
      red);
}

void top_part(Sheet& sheet, const Evidence& evidence, const PaperOptions& options) {
  sheet.title("Dossier of " + evidence.row.serial, fmt::format("{}, printed {}", review::state_text(evidence),
                                                               instant_text(options.issued_utc_us)));
  for (const auto& one : review::cautions()) sheet.paragraph(one, {.size = 7.5, .colour = faint});
  if (!evidence.seal) sheet.callout("NOT SEALED: see Integrity below.", red);
  if (evidence.row.stage == "released" && review::accepted_by_disposition(evidence))
    sheet.callout(verdict_sentence(evidence), amber);
  for (const auto& one : review::still_quarantined(evidence))
    sheet.callout("UNDER QUARANTINE: " + quarantine_sentence(one), red);
  for (const auto& finding : evidence.standing) sheet.callout(finding.what, red);
  demo_note(sheet, {evidence});
}

}  // namespace

Result<std::string> dossier_pdf(const ports::RecordStore& record, const std::string& serial,
                                const PaperOptions& options) {
  const auto collected = review::collect(record, serial);
  if (!collected) return collected.problem();
  const auto& evidence = collected.value();
  const auto read = review::measurements(evidence);
  DocumentSettings settings;
  settings.size = options.size;
  settings.title = "Dossier of " + evidence.row.serial;
  settings.subject = evidence.seal ? integrity_line(*evidence.seal) : "NOT SEALED";
  settings.created_utc_us = options.issued_utc_us;
  settings.running = {"Dossier", evidence.row.serial, settings.subject, caution_line};
  return document_pdf(settings, [&](Sheet& sheet) {
    top_part(sheet, evidence, options);
    sheet.heading("Fitting");
    sheet.facts(fitting_facts(evidence, options.units));
    sheet.facts({{"Proof load", proof_load_sentence(evidence, read, options.units)}}, 1);
    history(sheet, evidence);
    recipe_part(sheet, evidence, options.units);
    measurements_part(sheet, read, options.units);
    bites_part(sheet, evidence, options.units);
    gauges_table(sheet, evidence.gauges, options.units);
    entries_part(sheet, evidence);
    integrity_part(sheet, evidence);
  });
}

}  // namespace shankwright::papers
