#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"

/// The questions the record answers, on a connection that only reads. All throw SQLite::Exception.
namespace shankwright::record {

[[nodiscard]] std::vector<ports::FittingRow> read_open_fittings(SQLite::Database& database);
/// `after_number` is the running number of the filter's after_serial, 0 for the first page.
[[nodiscard]] std::vector<ports::FittingRow> read_fittings(SQLite::Database& database,
                                                           const ports::FittingFilter& filter,
                                                           std::int64_t after_number);
/// A fitting by its serial, state and recipe with it. Prepared once: preparing takes longer than looking up.
class FittingLookup {
 public:
  explicit FittingLookup(SQLite::Database& database);
  [[nodiscard]] std::optional<ports::FittingRow> find(const std::string& serial);

 private:
  SQLite::Statement row_;
};

/// An entry whose trace is still packed (unpacking needs no connection) and whose state is as stored
/// (state_patch.hpp).
struct PackedEntry {
  ports::StoredEntry stored;
  std::string trace;       ///< empty without one, or when none was asked for
  std::string trace_hash;  ///< what the entry says of it; empty without one
};
[[nodiscard]] std::vector<PackedEntry> read_entries(SQLite::Database& database, const std::string& serial,
                                                    bool with_traces);

[[nodiscard]] std::vector<ports::StoredEntry> read_entries_of_kind(SQLite::Database& database,
                                                                   const std::string& kind,
                                                                   std::int64_t after_sequence);
[[nodiscard]] std::uint64_t read_strokes(SQLite::Database& database, const std::string& die_pair_id);

[[nodiscard]] std::vector<std::string> read_serials(SQLite::Database& database);
/// Of fittings: all whose serials differ from what was typed by at most two characters, the first hundred
/// that begin with it, and few others; in the order in which they were given.
[[nodiscard]] std::vector<std::string> read_serials_near(SQLite::Database& database,
                                                         const std::string& typed);

[[nodiscard]] bool serial_is_reserved(SQLite::Database& database, const std::string& serial);

/// The first of the station's own entries of that kind after `after_sequence`, in this very file.
[[nodiscard]] std::optional<ports::StoredEntry> read_first_of_kind_after(SQLite::Database& database,
                                                                         const std::string& kind,
                                                                         std::int64_t after_sequence);

/// A fitting's first and newest entry; nothing for a serial without a fitting.
struct EntryRange {
  std::int64_t opened = 0, last = 0;
};
[[nodiscard]] std::optional<EntryRange> read_entry_range(SQLite::Database& database,
                                                         const std::string& serial);

}  // namespace shankwright::record
