#include "papers/dossier_bites.hpp"

#include <fmt/format.h>

#include "papers/bite_plot.hpp"
#include "papers/parts.hpp"
#include "quantity/quantity.hpp"
#include "review/entry_words.hpp"

namespace shankwright::papers {
namespace {

std::string milliseconds(const std::optional<double>& ms) {
  return ms ? quantity::print(*ms, "ms", 0) : "-";
}

const review::EntryEvidence* entry_of(const review::Evidence& evidence, std::int64_t sequence) {
  for (const auto& entry : evidence.entries)
    if (entry.sequence == sequence) return &entry;
  return nullptr;
}

Facts facts_of(const review::BiteEvidence& bite, UnitSystem units) {
  const auto& summary = bite.summary;
  const auto peak = summary ? std::optional(summary->peak_pressure_bar) : bite.peak_pressure_bar;
  const auto gap = summary ? std::optional(summary->least_gap_mm) : bite.least_gap_mm;
  return {
      {"Peak", fmt::format("{}, {}", force_or_dash(bite.peak_force_kn, units),
                           peak ? quantity::pressure_text(*peak, units) : "-")},
      {"Least gap", length_or_dash(gap, units)},
      {"Dwell", milliseconds(bite.dwell_ms)},
      {"Samples", fmt::format("{}{}, missing: {}", bite.trace.size(),
                              summary ? fmt::format(" in {} ms, longest step {} ms", summary->duration_ms,
                                                    summary->longest_step_ms)
                                      : "",
                              bite.samples_missing ? std::to_string(*bite.samples_missing) : "not stated")}};
}

void accepted_table(Sheet& sheet, const review::Evidence& evidence, const review::BiteEvidence& bite,
                    UnitSystem units) {
  const auto& gaps = review::accepted_force_of(evidence, bite);
  if (!gaps.is_array() || bite.force_at_envelope_gaps_kn.empty()) return;
  const bool scaled = bite.accepted_force.is_array();
  Table table{{{"While closing, at gap", 1.2},
               {"Force found", 1.2},
               {scaled ? "Accepted for the shank under the die" : "Accepted for a whole die length", 2},
               {"", 1}},
              {}};
  for (std::size_t i = 0; i < bite.force_at_envelope_gaps_kn.size() && i < gaps.size(); ++i) {
    const double force = bite.force_at_envelope_gaps_kn[i];
    const auto least = review::number_at(gaps[i], {"force_kn", "least"}),
               most = review::number_at(gaps[i], {"force_kn", "most"});
    const bool known = scaled && least && most;
    const bool inside = known && force >= *least - 1e-6 && force <= *most + 1e-6;
    table.rows.push_back(
        {{length_or_dash(review::number_at(gaps[i], {"gap_mm"}), units)},
         {quantity::force_text(force, units)},
         {force_band(review::at_path(gaps[i], {"force_kn"}), units)},
         {!known   ? "-"
          : inside ? "within"
                   : "OUTSIDE",
          known && !inside, known && !inside ? typeset::colour::red : typeset::colour::ink}});
  }
  sheet.table(table);
}

}  // namespace

void bites_part(Sheet& sheet, const review::Evidence& evidence, UnitSystem units) {
  if (evidence.bites.empty()) return;
  sheet.heading("Bites of the press", 250);
  for (const auto& bite : evidence.bites) {
    sheet.small_heading(
        fmt::format("Pass {}, bite {}   (entry {}, {})", bite.pass ? std::to_string(*bite.pass) : "-",
                    bite.bite ? std::to_string(*bite.bite) : "-", bite.sequence,
                    instant_text(bite.at_utc_us)),
        bite.trace.empty() ? 60 : 225);
    if (const auto* const entry = entry_of(evidence, bite.sequence); entry != nullptr)
      for (const auto& finding : entry->findings) sheet.callout(finding.what, typeset::colour::red);
    sheet.facts(facts_of(bite, units));
    bite_plot(sheet, evidence, bite, units);
    accepted_table(sheet, evidence, bite, units);
  }
}

}  // namespace shankwright::papers
