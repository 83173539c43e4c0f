#include "papers/parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "quantity/quantity.hpp"
#include "review/entry_words.hpp"

namespace shankwright::papers {
namespace {

using review::at_path;
using review::Evidence;
using review::number_at;
using review::text_at;
using typeset::colour::amber;
using typeset::colour::red;

/// "first, second": what is empty is left out.
std::string joined(std::initializer_list<std::string> parts) {
  std::string out;
  for (const auto& part : parts)
    if (!part.empty()) out += (out.empty() ? "" : ", ") + part;
  return out.empty() ? "-" : out;
}

std::string with(const std::string& before, const std::string& value, const std::string& after = "") {
  return value.empty() ? "" : before + value + after;
}

typeset::Colour colour_of(review::Against against) {
  if (against == review::Against::outside) return red;
  if (against == review::Against::not_proven) return amber;
  return typeset::colour::ink;
}

const review::EntryEvidence* entry_of(const Evidence& evidence, std::string_view event) {
  const auto found = std::find_if(evidence.entries.rbegin(), evidence.entries.rend(), [&](const auto& entry) {
    return entry.event == event && entry.kind != "refused";
  });
  return found == evidence.entries.rend() ? nullptr : &*found;
}

std::string strokes_text(const review::Json& told) {
  const auto strokes = text_at(told, {"die_pair", "strokes"}),
             life = text_at(told, {"die_pair", "life_strokes"});
  if (strokes.empty()) return "";
  return life.empty() ? strokes + " strokes done" : strokes + " of " + life + " strokes done";
}

}  // namespace

std::string rope_short(const Evidence& evidence, UnitSystem units) {
  const auto construction = text_at(evidence.recipe, {"rope", "construction"});
  const auto diameter = number_at(evidence.recipe, {"rope", "nominal_diameter_mm"});
  return construction + (construction.empty() ? "" : " ") + length_or_dash(diameter, units);
}

Facts fitting_facts(const Evidence& evidence, UnitSystem units) {
  const auto& row = evidence.row;
  const auto& all = evidence.recipe;
  const auto& told = evidence.registered;
  const auto* const release = entry_of(evidence, "release");
  const auto* const disposed = entry_of(evidence, "dispose");
  const auto* const freed = review::accepted_by_disposition(evidence) ? disposed : release;
  return {
      {"Job", row.job.empty() ? "-" : row.job},
      {"Verdict", verdict_sentence(evidence)},
      {"Rope", joined({text_at(all, {"rope", "id"}), rope_short(evidence, units),
                       text_at(all, {"rope", "material"})})},
      {"Rope lot", joined({row.rope_lot, with("certificate ", text_at(told, {"rope_lot", "certificate"}))})},
      {"Terminal",
       joined({text_at(all, {"terminal", "id"}), text_at(all, {"terminal", "material"}),
               "bore " + length_or_dash(number_at(all, {"terminal", "bore_diameter_mm"}), units)})},
      {"Terminal lot",
       joined({row.terminal_lot, with("certificate ", text_at(told, {"terminal_lot", "certificate"}))})},
      {"Recipe", fmt::format("{} revision {}", row.recipe_id, row.recipe_revision)},
      {"Die pair",
       joined({row.die_pair_id, with("serial ", text_at(told, {"die_pair", "serial"})), strokes_text(told),
               with("inspection due ", text_at(told, {"die_pair", "inspection_due"}))})},
      {"Operator", joined({text_at(told, {"operator", "name"}), row.operator_id,
                           with("qualified until ", text_at(told, {"operator", "qualified_until"}))})},
      {"Press", joined({text_at(all, {"press", "id"}),
                        with("calibration due ", text_at(told, {"press", "calibration_due"}))})},
      {"Begun", instant_text(row.started_utc_us)},
      {"Released", evidence.released_utc_us
                       ? joined({instant_text(*evidence.released_utc_us), freed ? "by " + freed->actor : ""})
                       : "not released"},
  };
}

std::vector<Cell> measurement_row(const review::Measurement& read, UnitSystem units, std::size_t list_most) {
  const bool bad = read.against == review::Against::outside || read.against == review::Against::not_proven;
  return {{name_text(read)},
          {value_text(read, units, list_most), bad, colour_of(read.against)},
          {limits_text(read, units)},
          {against_text(read.against), bad, colour_of(read.against)},
          {gauge_text(read)}};
}

void bites_table(Sheet& sheet, const std::vector<review::Measurement>& read, UnitSystem units) {
  struct Bite {
    const review::Measurement *peak = nullptr, *gap = nullptr, *dwell = nullptr;
  };
  std::map<std::pair<int, int>, Bite> bites;
  for (const auto& one : read) {
    if (one.superseded || one.event != "bite_finished") continue;
    auto& bite = bites[{one.pass.value_or(0), one.bite.value_or(0)}];
    (one.name == "peak force" ? bite.peak : one.name == "dwell at force" ? bite.dwell : bite.gap) = &one;
  }
  if (bites.empty()) return;
  sheet.small_heading("Bites of the press");
  const auto right = typeset::Align::right;
  Table table{{{"Pass, bite", 1},
               {"Peak force", 1.3, right},
               {"Limits", 1.9},
               {"Least gap of the dies", 1.2, right},
               {"Limit", 1.4},
               {"Dwell at force", 1, right},
               {"Limit", 1.4}},
              {}};
  const auto found = [&](const review::Measurement* one) {
    if (one == nullptr) return Cell{"-"};
    return Cell{value_text(*one, units, 1), one->against == review::Against::outside,
                colour_of(one->against)};
  };
  const auto limit = [&](const review::Measurement* one) {
    return Cell{one == nullptr ? "-" : limits_text(*one, units)};
  };
  for (const auto& [place, bite] : bites)
    table.rows.push_back({{fmt::format("{}, {}", place.first, place.second)},
                          found(bite.peak),
                          limit(bite.peak),
                          found(bite.gap),
                          limit(bite.gap),
                          found(bite.dwell),
                          limit(bite.dwell)});
  sheet.table(table);
}

void gauges_table(Sheet& sheet, const std::vector<review::GaugeEvidence>& gauges, UnitSystem units) {
  if (gauges.empty()) return;
  sheet.heading("Gauges used", 60);
  Table table{
      {{"Gauge", 1.4}, {"Kind", 1.1}, {"Uncertainty U, k=2", 1.5}, {"Calibration due", 1.2}, {"Used for", 3}},
      {}};
  for (const auto& gauge : gauges) {
    std::string uses;
    for (const auto& use : gauge.used_for) uses += (uses.empty() ? "" : ", ") + review::spoken(use);
    std::string uncertainty = "-";
    if (gauge.expanded_uncertainty && *gauge.expanded_uncertainty > 0)
      uncertainty = gauge.uncertainty_unit == "mm" ? quantity::length_text(*gauge.expanded_uncertainty, units)
                    : gauge.uncertainty_unit == "kN"
                        ? quantity::force_text(*gauge.expanded_uncertainty, units)
                        : quantity::print(*gauge.expanded_uncertainty, "deg", 2);
    table.rows.push_back({{gauge.id},
                          {review::spoken(gauge.kind)},
                          {uncertainty},
                          {gauge.calibration_due.empty() ? "not on record" : gauge.calibration_due},
                          {uses}});
  }
  sheet.table(table);
}

void history(Sheet& sheet, const Evidence& evidence) {
  std::vector<std::pair<std::int64_t, std::string>> lines;
  for (const auto& one : evidence.holds) lines.emplace_back(one.sequence, hold_sentence(one));
  for (const auto& one : evidence.dispositions) lines.emplace_back(one.sequence, disposition_sentence(one));
  for (const auto& one : evidence.quarantines) lines.emplace_back(one.sequence, quarantine_sentence(one));
  for (const auto& entry : evidence.entries)
    if (entry.kind == "correction") lines.emplace_back(entry.sequence, correction_sentence(entry));
  if (lines.empty()) return;
  std::stable_sort(lines.begin(), lines.end(),
                   [](const auto& left, const auto& right) { return left.first < right.first; });
  sheet.small_heading("Holds, dispositions, quarantine, corrections");
  for (const auto& line : lines) sheet.paragraph(line.second, {.size = 8});
}

void demo_note(Sheet& sheet, const std::vector<Evidence>& fittings) {
  const bool demo = std::any_of(fittings.begin(), fittings.end(), [](const auto& evidence) {
    for (const auto* part : {"recipe", "rope", "terminal", "die_pair", "press"})
      if (text_at(evidence.recipe, {part, "source"}).find("demo data") != std::string::npos) return true;
    return false;
  });
  if (demo)
    sheet.callout(
        "Demo data: the recipe, or something it names, calls values of its own demo data. They are "
        "invented and not for real work.",
        amber);
}

}  // namespace shankwright::papers
