#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "quantity/result.hpp"
#include "record/chain.hpp"

namespace SQLite {
class Database;
}

/// Whether one file of the record is what the station wrote. verify.hpp looks at a whole record.
namespace shankwright::record {

struct ChainReport {
  std::int64_t checked = 0;  ///< entries whose hash was computed anew and found right
  std::int64_t newest =
      0;  ///< sequence of the last of them, or the end of the part before; 0 when there is none
  Hash newest_hash{};
  std::uint64_t bytes = 0;  ///< of what was hashed
  struct Break {
    std::int64_t sequence = 0;  ///< the first entry that does not fit
    std::string what;           ///< in words
  };
  std::optional<Break> broken;  ///< nothing when all is well
};

/// An entry whose own hash and trace have been found right. The texts are looked at during the call only.
struct WalkedEntry {
  const HashedFields& fields;
  const Hash& hash;
  const Hash& previous;
};
/// What is wrong with an entry beyond its hash, in words; nothing when all is well.
using EntryCheck = std::function<std::optional<std::string>(const WalkedEntry&)>;

/// Computes every hash from entry `first` (1 and up) to the end anew, those of traces and recipe documents
/// too, and asks `check`, where there is one, about each entry. Begins at the first entry of this very file
/// where `first` lies in a closed part before it. Throws SQLite::Exception.
[[nodiscard]] ChainReport check_chain(SQLite::Database& database, std::int64_t first,
                                      const EntryCheck& check = {});

/// SQLite's own quick check of the whole file. Nothing when it is sound. Throws SQLite::Exception.
[[nodiscard]] std::optional<Problem> check_file(SQLite::Database& database);

}  // namespace shankwright::record
