#pragma once
#include <string>
#include <utility>
#include <vector>

#include "papers/sheet.hpp"
#include "papers/words_of.hpp"

/// What certificate and dossier have in common.
namespace shankwright::papers {

using Facts = std::vector<std::pair<std::string, std::string>>;

/// "7x19 4.76 mm"
[[nodiscard]] std::string rope_short(const review::Evidence& evidence, UnitSystem units);

/// Who, from what, with what, when; what the register said at admission where it is on record.
[[nodiscard]] Facts fitting_facts(const review::Evidence& evidence, UnitSystem units);

[[nodiscard]] std::vector<Cell> measurement_row(const review::Measurement& read, UnitSystem units,
                                                std::size_t list_most);
/// Peak force, least gap and dwell of every bite that stands, each beside its limits.
void bites_table(Sheet& sheet, const std::vector<review::Measurement>& read, UnitSystem units);
void gauges_table(Sheet& sheet, const std::vector<review::GaugeEvidence>& gauges, UnitSystem units);

/// Holds, dispositions, quarantines and corrections; nothing where there were none.
void history(Sheet& sheet, const review::Evidence& evidence);

/// Says so where a recipe calls its own values demo data.
void demo_note(Sheet& sheet, const std::vector<review::Evidence>& fittings);

}  // namespace shankwright::papers
