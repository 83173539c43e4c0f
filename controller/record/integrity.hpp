#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "quantity/result.hpp"
#include "record/chain.hpp"

namespace SQLite {
class Database;
}

/// Whether the record is what the station wrote.
namespace shankwright::record {

struct ChainReport {
  std::int64_t checked = 0;  ///< entries whose hash was computed anew and found right
  std::int64_t newest = 0;   ///< sequence of the last of them; 0 when there are none
  Hash newest_hash{};
  struct Break {
    std::int64_t sequence = 0;  ///< the first entry that does not fit
    std::string what;           ///< in words
  };
  std::optional<Break> broken;  ///< nothing when all is well
};

/// Computes every hash from entry `first` (1 and up) to the end anew, those of traces and recipe documents
/// too. Throws SQLite::Exception.
[[nodiscard]] ChainReport check_chain(SQLite::Database& database, std::int64_t first);

/// SQLite's own quick check of the whole file. Nothing when it is sound. Throws SQLite::Exception.
[[nodiscard]] std::optional<Problem> check_file(SQLite::Database& database);

}  // namespace shankwright::record
