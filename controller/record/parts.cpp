#include "record/parts.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

namespace shankwright::record {

std::vector<Part> read_parts(SQLite::Database& database) {
  if (!database.tableExists("parts")) return {};  // version 1 knew one file only
  SQLite::Statement rows(
      database, "SELECT number, first_sequence, last_sequence, head, file FROM parts ORDER BY number");
  std::vector<Part> out;
  while (rows.executeStep()) {
    const auto head = rows.getColumn(3);
    out.push_back(
        {rows.getColumn(0).getInt64(), rows.getColumn(1).getInt64(), rows.getColumn(2).getInt64(),
         as_hash({static_cast<const char*>(head.getBlob()), static_cast<std::size_t>(head.getBytes())})
             .value_or(Hash{}),
         rows.getColumn(4).getString()});
  }
  return out;
}

ChainBase chain_base(SQLite::Database& database) {
  const auto parts = read_parts(database);
  return parts.empty() ? ChainBase{} : ChainBase{parts.back().last_sequence, parts.back().head};
}

std::filesystem::path archive_folder(const std::filesystem::path& record_file) {
  return record_file.parent_path() / "archive";
}

}  // namespace shankwright::record
