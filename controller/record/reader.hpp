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
[[nodiscard]] std::optional<ports::FittingRow> read_fitting(SQLite::Database& database,
                                                            const std::string& serial);

/// An entry whose trace is still packed: unpacking needs no connection.
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

/// When the serial was reserved; nothing when it never was.
[[nodiscard]] std::optional<std::int64_t> read_reservation_utc_us(SQLite::Database& database,
                                                                  const std::string& serial);

}  // namespace shankwright::record
