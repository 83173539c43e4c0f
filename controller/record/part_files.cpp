#include "record/part_files.hpp"

#include <fmt/format.h>

#include <stdexcept>

#include "record/connection.hpp"

namespace shankwright::record {
namespace {

// The chain after a part rests on the hash of its last entry: another file under its name is told at once.
bool ends_as(SQLite::Database& database, const Part& part) {
  SQLite::Statement last(database, "SELECT sequence, hash FROM entries ORDER BY sequence DESC LIMIT 1");
  if (!last.executeStep() || last.getColumn(0).getInt64() != part.last_sequence) return false;
  const auto hash = last.getColumn(1);
  return std::string_view(static_cast<const char*>(hash.getBlob()),
                          static_cast<std::size_t>(hash.getBytes())) == bytes_of(part.head);
}

}  // namespace

PartFiles::PartFiles(SQLite::Database& live, const std::filesystem::path& record_file)
    : folder_(archive_folder(record_file)), parts_(read_parts(live)) {}

SQLite::Database& PartFiles::open(const Part& part) {
  auto& database = opened_[part.number];
  if (database) return *database;
  const auto file = file_of(part);
  const auto asked =
      fmt::format("entries {} to {} are in {}", part.first_sequence, part.last_sequence, file.string());
  std::error_code error;
  if (!std::filesystem::exists(file, error))
    throw std::runtime_error(asked + ", which is not there; put the closed file back");
  auto found = connect_reader(file);
  if (!ends_as(*found, part))
    throw std::runtime_error(asked + ", but that file is another one or was altered");
  database = std::move(found);
  return *database;
}

}  // namespace shankwright::record
