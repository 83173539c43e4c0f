#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "papers/certificate.hpp"
#include "papers/document.hpp"
#include "papers/integrity_box.hpp"
#include "papers/parts.hpp"
#include "record/seal_code.hpp"
#include "review/entry_words.hpp"

namespace shankwright::papers {
namespace {

using review::at_path;
using review::Evidence;
using review::text_at;
using typeset::colour::amber;
using typeset::colour::red;

/// One fitting with what was read of it, so that readings are worked out once.
struct Shown {
  const Evidence& evidence;
  std::vector<review::Measurement> read;
};

const review::Measurement* standing(const Shown& shown, std::string_view event) {
  for (const auto& one : shown.read)
    if (one.event == event && !one.superseded) return &one;
  return nullptr;
}

std::string peak_force(const Shown& shown, UnitSystem units) {
  std::optional<double> most;
  for (const auto& one : shown.read)
    if (one.name == "peak force" && !one.superseded && !one.values.empty())
      most = std::max(most.value_or(0), one.values.front());
  return force_or_dash(most, units);
}

void summary(Sheet& sheet, const std::vector<Shown>& all, UnitSystem units) {
  sheet.heading("Fittings covered by this certificate");
  Table table{{{"Serial", 1.5},
               {"Rope and terminal", 2.2},
               {"Recipe", 1.4},
               {"Accepted", 1.6},
               {"Across flats", 1.7},
               {"Greatest peak force", 1.2, typeset::Align::right}},
              {}};
  for (const auto& shown : all) {
    const auto& evidence = shown.evidence;
    const bool disposed = review::accepted_by_disposition(evidence);
    const auto* const flats = standing(shown, "across_flats");
    table.rows.push_back({{evidence.row.serial, true},
                          {rope_short(evidence, units) + ", " + text_at(evidence.recipe, {"terminal", "id"})},
                          {fmt::format("{} r{}", evidence.row.recipe_id, evidence.row.recipe_revision)},
                          {disposed ? "BY DISPOSITION" : evidence.row.verdict, disposed,
                           disposed ? amber : typeset::colour::ink},
                          {flats != nullptr ? value_text(*flats, units, 1) : "-"},
                          {peak_force(shown, units)}});
  }
  sheet.table(table);
}

void not_covered(Sheet& sheet, const Certified& certified) {
  if (certified.not_released.empty()) return;
  std::string names;
  for (const auto& row : certified.not_released)
    names += (names.empty() ? "" : ", ") + row.serial + " (" + review::spoken(row.stage) + ")";
  sheet.callout(fmt::format("Not covered: {} of this job {} not released: {}.", certified.not_released.size(),
                            certified.not_released.size() == 1 ? "is" : "are", names),
                amber);
}

void measurements_of(Sheet& sheet, const Shown& shown, UnitSystem units) {
  sheet.small_heading("Measured against limits");
  Table table{
      {{"Measurement", 2.5}, {"Found", 1.8}, {"Limits", 1.7}, {"", 0.75}, {"Gauge (calibration due)", 2.3}},
      {}};
  for (const auto& one : shown.read)
    if (!one.superseded && one.event != "bite_finished") table.rows.push_back(measurement_row(one, units, 3));
  sheet.table(table);
  bites_table(sheet, shown.read, units);
}

void fitting(Sheet& sheet, const Shown& shown, UnitSystem units) {
  const auto& evidence = shown.evidence;
  sheet.heading("Fitting " + evidence.row.serial, 150);
  if (review::accepted_by_disposition(evidence)) sheet.callout(verdict_sentence(evidence), amber);
  for (const auto& one : review::still_quarantined(evidence))
    sheet.callout("UNDER QUARANTINE SINCE: " + quarantine_sentence(one), red);
  sheet.facts(fitting_facts(evidence, units));
  measurements_of(sheet, shown, units);
  sheet.facts({{"Proof load", proof_load_sentence(evidence, shown.read, units)}}, 1);
  history(sheet, evidence);
}

void gauges(Sheet& sheet, const std::vector<Shown>& all, UnitSystem units) {
  std::vector<review::GaugeEvidence> merged;
  for (const auto& shown : all)
    for (const auto& gauge : shown.evidence.gauges) {
      const auto same =
          std::find_if(merged.begin(), merged.end(), [&](const auto& one) { return one.id == gauge.id; });
      if (same == merged.end()) {
        merged.push_back(gauge);
        continue;
      }
      for (const auto& use : gauge.used_for)
        if (std::find(same->used_for.begin(), same->used_for.end(), use) == same->used_for.end())
          same->used_for.push_back(use);
      if (!gauge.calibration_due.empty() &&
          (same->calibration_due.empty() || gauge.calibration_due < same->calibration_due))
        same->calibration_due = gauge.calibration_due;
    }
  gauges_table(sheet, merged, units);
}

/// One field to be filled by hand: a line with its name under it.
void field(Sheet& sheet, double x, double y, double wide, std::string_view name) {
  sheet.fill(x, y + 26, wide, 0.7, typeset::colour::faint);
  typeset::Words(sheet.typesetter(), name, {.size = 7.2, .colour = typeset::colour::faint}, wide)
      .draw(sheet.context(), x, y + 28);
}

void competent_person(Sheet& sheet) {
  sheet.heading("Competent person", 150);
  sheet.paragraph(
      "I have compared this certificate with the fittings it names, with the instructions of the makers of "
      "rope and "
      "terminal and with the codes that apply where they are used.",
      {.size = 8.5});
  const double top = sheet.room(96);
  const double half = (sheet.width() - 24) / 2;
  field(sheet, sheet.left(), top, half, "Name");
  field(sheet, sheet.left() + half + 24, top, half, "Qualification, authority");
  field(sheet, sheet.left(), top + 46, half, "Date");
  field(sheet, sheet.left() + half + 24, top + 46, half, "Signature");
}

void cautions(Sheet& sheet) {
  sheet.heading("Cautions", 80);
  for (const auto& one : review::cautions()) sheet.paragraph(one);
  sheet.paragraph(
      "This certificate tells what the station's record holds. It does not say that the fittings are fit for "
      "a "
      "given use: rated load, environment and inspection intervals are for the makers' instructions, local "
      "codes "
      "and a competent person. A terminal that was bent, heated, cut or loaded beyond its rating is no "
      "longer the "
      "terminal described here.");
}

std::string subject_of(const Certified& certified) {
  return certified.job.empty() ? certified.fittings.front().row.serial : "job " + certified.job;
}

}  // namespace

std::string certificate_pdf(const Certified& certified, const PaperOptions& options) {
  std::vector<Shown> all;
  for (const auto& evidence : certified.fittings) all.push_back({evidence, review::measurements(evidence)});
  DocumentSettings settings;
  settings.size = options.size;
  settings.title = "Certificate of swaged terminals, " + subject_of(certified);
  settings.subject = "Integrity code " + record::short_code(certified.seal);
  settings.created_utc_us = options.issued_utc_us;
  settings.running = {"Certificate of swaged terminals", subject_of(certified),
                      integrity_line(certified.seal), caution_line};
  return document_pdf(settings, [&](Sheet& sheet) {
    const auto& first = certified.fittings.front();
    sheet.title("Certificate of swaged terminals",
                fmt::format("{}, issued {}", subject_of(certified), instant_text(options.issued_utc_us)));
    sheet.paragraph(fmt::format(
        "The record of press {} shows that the {} named here {} pressed, measured and released as follows. "
        "Every figure comes from the record; lengths are in {} and forces in {}.",
        text_at(first.recipe, {"press", "id"}),
        all.size() == 1 ? "fitting" : fmt::format("{} fittings", all.size()),
        all.size() == 1 ? "was" : "were", options.units == UnitSystem::inch ? "inches" : "millimetres",
        options.units == UnitSystem::inch ? "pounds-force" : "kilonewtons"));
    demo_note(sheet, certified.fittings);
    not_covered(sheet, certified);
    if (all.size() > 1) summary(sheet, all, options.units);
    for (const auto& shown : all) fitting(sheet, shown, options.units);
    gauges(sheet, all, options.units);
    sheet.heading("Integrity", 130);
    integrity_box(sheet, certified.seal);
    cautions(sheet);
    competent_person(sheet);
  });
}

}  // namespace shankwright::papers
