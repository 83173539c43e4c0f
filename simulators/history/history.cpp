#include "simulators/history/history.hpp"

#include <nlohmann/json.hpp>
#include <utility>

#include "simulators/history/telling.hpp"

namespace shankwright::history {
namespace {

Result<std::int64_t> keep(record::SqliteStore& store, Fitting fitting, bool seal, HistoryFigures& figures) {
  const auto serial = store.reserve_serial(fitting.row.started_utc_us);
  if (!serial) return serial.problem();
  fitting.row.serial = serial.value();
  for (auto& entry : fitting.entries) {
    entry.serial = serial.value();
    ++figures.entries;
    figures.traces += !entry.trace.empty();
    figures.samples += static_cast<std::int64_t>(entry.trace.size());
  }
  const auto opened = store.open_fitting(fitting.row, fitting.entries.front());
  if (!opened) return opened;
  fitting.entries.erase(fitting.entries.begin());
  if (fitting.entries.empty()) return opened;
  if (!fitting.correction.empty()) {
    ports::NewEntry entry;
    entry.at_utc_us = fitting.entries.back().at_utc_us + 3'600'000'000;
    entry.serial = serial.value();
    entry.kind = "correction";
    entry.event = "corrected";
    entry.actor = fitting.row.operator_id;
    entry.body_json = nlohmann::json{{"of", opened.value() + 1},
                                     {"text", fitting.correction},
                                     {"reason", "Found when the papers were checked."}}
                          .dump();
    fitting.entries.push_back(std::move(entry));
    ++figures.entries;
  }
  return fitting.released && seal ? store.append_and_seal(fitting.entries, "release")
                                  : store.append(fitting.entries);
}

}  // namespace

Result<HistoryFigures> write_history(record::SqliteStore& store, const HistoryOptions& options,
                                     const std::function<void(std::int64_t)>& progress) {
  constexpr std::int64_t us_per_year = 31'557'600'000'000, told_every = 1000;
  Telling telling(options.seed, options.first_utc_us, options.first_utc_us + options.years * us_per_year,
                  options.fittings);
  HistoryFigures figures;
  while (figures.fittings < options.fittings) {
    auto fitting = telling.next(options.brief);
    const auto kept = keep(store, std::move(fitting), options.seal_releases, figures);
    if (!kept) return kept.problem();
    if (++figures.fittings % told_every == 0 && progress) progress(figures.fittings);
  }
  return figures;
}

}  // namespace shankwright::history
