#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "record/chain.hpp"

namespace SQLite {
class Database;
}

/// A record goes on in a new file when a period is closed (archive.hpp); the files before it are its parts.
namespace shankwright::record {

/// One closed file. The chain of the file after it begins where this one ends.
struct Part {
  std::int64_t number = 0;  ///< 1 and up
  std::int64_t first_sequence = 0, last_sequence = 0;
  Hash head{};       ///< hash of its last entry
  std::string file;  ///< its name in the folder `archive` beside the record
};

/// Oldest first. Throws SQLite::Exception.
[[nodiscard]] std::vector<Part> read_parts(SQLite::Database& database);

/// Where the chain of this very file begins: the last entry before it and its hash, 0 and zeros for a
/// record's first file.
struct ChainBase {
  std::int64_t sequence = 0;
  Hash hash{};
};
[[nodiscard]] ChainBase chain_base(SQLite::Database& database);

[[nodiscard]] std::filesystem::path archive_folder(const std::filesystem::path& record_file);

}  // namespace shankwright::record
