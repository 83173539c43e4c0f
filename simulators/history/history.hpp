#pragma once
#include <cstdint>
#include <functional>

#include "quantity/result.hpp"
#include "record/store.hpp"

/// Fills a record with invented fittings (demo data), for tests and benchmarks of search at scale.
namespace shankwright::history {

struct HistoryOptions {
  std::uint64_t seed = 1;
  std::int64_t fittings = 1000;
  std::int64_t first_utc_us = 1'672'639'200'000'000;  ///< the first is begun then: 2023-01-02T06:00:00Z
  std::int64_t years = 3;                             ///< over which they are spread
  bool seal_releases = true;                          ///< as a station does
  bool brief = false;  ///< of each fitting only what search looks at: the first and the last entry, those
                       ///< with findings
};

struct HistoryFigures {
  std::int64_t fittings = 0, entries = 0, traces = 0, samples = 0;
};

/// Records the fittings one after the other. The same options on an empty record give the same fittings;
/// hashes and seals differ with the record's key. `progress` is told now and then how many are done.
[[nodiscard]] Result<HistoryFigures> write_history(record::SqliteStore& store, const HistoryOptions& options,
                                                   const std::function<void(std::int64_t)>& progress = {});

}  // namespace shankwright::history
