#pragma once
#include <functional>
#include <optional>
#include <string>

#include "record/verify_watch.hpp"

namespace SQLite {
class Database;
}

/// What is derived (serials, the search) against the entries it is derived from.
namespace shankwright::record {

/// Derives everything anew from the entries of the files that `each_file` visits, oldest first, into a
/// scratch database, and compares it row by row with what `live` holds. The words of the free-text search are
/// compared as words, since their form on the disk depends on the order of writing. The first difference in
/// words; nothing when there is none. Throws SQLite::Exception, and std::runtime_error for entries that do
/// not read. `watcher` is told of every entry.
[[nodiscard]] std::optional<std::string> index_fault(
    SQLite::Database& live,
    const std::function<void(const std::function<void(SQLite::Database&)>&)>& each_file,
    VerifyWatcher& watcher);

/// Tables, triggers and indexes as this version's program makes them. The first difference in words.
[[nodiscard]] std::optional<std::string> schema_fault(SQLite::Database& database);

}  // namespace shankwright::record
