#include "record/index_check.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "record/connection.hpp"
#include "record/index.hpp"
#include "record/schema.hpp"

namespace shankwright::record {
namespace {

// Everything a file is made of, by name. Statistics that SQLite keeps for itself are no part of it.
std::map<std::string, std::string> objects_of(SQLite::Database& database) {
  SQLite::Statement rows(database,
                         "SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_master"
                         " WHERE name NOT LIKE 'sqlite_stat%'");
  std::map<std::string, std::string> out;
  while (rows.executeStep()) out.emplace(rows.getColumn(0).getString(), rows.getColumn(1).getString());
  return out;
}

std::vector<std::string> names(SQLite::Database& database, const char* sql) {
  SQLite::Statement rows(database, sql);
  std::vector<std::string> out;
  while (rows.executeStep()) out.push_back(rows.getColumn(0).getString());
  return out;
}

std::vector<std::string> word_lists(SQLite::Database& database) {
  return names(database, "SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL%'");
}

// What the entries give; the shadow tables of the word list (its name and an underscore) are left out.
std::vector<std::string> derived_tables(SQLite::Database& database) {
  auto tables =
      names(database,
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND"
            " sql NOT LIKE 'CREATE VIRTUAL%' AND name NOT IN ('entries', 'traces', 'documents', 'parts')");
  for (const auto& word_list : word_lists(database))
    std::erase_if(tables, [&](const std::string& table) { return table.starts_with(word_list + "_"); });
  return tables;
}

std::string ordered(SQLite::Database& database, const std::string& table) {
  SQLite::Statement any(database, fmt::format("SELECT * FROM \"{}\" LIMIT 0", table));
  std::string order;
  for (int column = 1; column <= any.getColumnCount(); ++column)
    order += (column == 1 ? "" : ", ") + std::to_string(column);
  return fmt::format("SELECT * FROM \"{}\" ORDER BY {}", table, order);
}

std::string row_text(SQLite::Statement& row) {
  std::string out;
  for (int column = 0; column < row.getColumnCount(); ++column) {
    const auto value = row.getColumn(column);
    out +=
        std::to_string(value.getType()) + ":" + std::to_string(value.size()) + ":" + value.getString() + "|";
  }
  return out;
}

std::string first_words(SQLite::Statement& row) {
  std::string out;
  for (int column = 0; column < std::min(row.getColumnCount(), 3); ++column)
    out += (column == 0 ? "" : ", ") + row.getColumn(column).getString();
  return out;
}

// Every word of a list with the rows it is in. The form on the disk depends on the order of writing, this
// not.
std::string words_of(SQLite::Database& database, const std::string& word_list) {
  database.exec("PRAGMA query_only=OFF");  // a reader may still not write but to its own temporary tables
  database.exec(
      fmt::format("DROP TABLE IF EXISTS temp.words; CREATE VIRTUAL TABLE temp.words USING"
                  " fts5vocab(main, '{}', instance)",
                  word_list));
  return "SELECT term, doc, col, offset FROM temp.words ORDER BY 1, 2, 3, 4";
}

std::optional<std::string> difference(SQLite::Database& live, const std::string& of_live,
                                      SQLite::Database& derived, const std::string& of_derived,
                                      const std::string& table) {
  SQLite::Statement is(live, of_live), should(derived, of_derived);
  while (true) {
    const bool kept = is.executeStep(), wanted = should.executeStep();
    if (!kept && !wanted) return std::nullopt;
    if (kept && wanted && row_text(is) == row_text(should)) continue;
    return fmt::format(
        "The index does not say what the entries say: table {}, near {}. It is no evidence and can "
        "be made anew: shankwright record rebuild-index",
        table, first_words(wanted ? should : is));
  }
}

}  // namespace

std::optional<std::string> index_fault(
    SQLite::Database& live,
    const std::function<void(const std::function<void(SQLite::Database&)>&)>& each_file,
    VerifyWatcher& watcher) {
  SQLite::Database scratch("",
                           SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);  // a file that SQLite takes away
  if (const auto made = bring_up_to_date(scratch, schema_steps(), [] {}); !made) return made.problem().text();
  scratch.exec("PRAGMA synchronous=OFF; PRAGMA foreign_keys=OFF");
  {
    Transaction transaction(scratch);
    Index index(scratch);
    watcher.begin(VerifyPart::index_made);
    each_file([&](SQLite::Database& file) { (void)index.apply_all(file, [&] { watcher.count(); }); });
    transaction.commit();
  }
  watcher.follow(scratch);
  watcher.begin(VerifyPart::index_looked, watcher.done());
  for (const auto& table : derived_tables(scratch))
    if (auto found = difference(live, ordered(live, table), scratch, ordered(scratch, table), table))
      return found;
  for (const auto& list : word_lists(scratch))
    if (auto found = difference(live, words_of(live, list), scratch, words_of(scratch, list), list))
      return found;
  return std::nullopt;
}

std::optional<std::string> schema_fault(SQLite::Database& database) {
  const auto version = database.execAndGet("PRAGMA user_version").getInt();
  auto steps = schema_steps();
  if (version < 1 || static_cast<std::size_t>(version) > steps.size())
    return fmt::format("The file says it is of version {}; this program knows 1 to {}.", version,
                       steps.size());
  steps.resize(static_cast<std::size_t>(version));
  SQLite::Database fresh(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  if (const auto made = bring_up_to_date(fresh, steps, [] {}); !made) return made.problem().text();
  const auto should = objects_of(fresh), is = objects_of(database);
  for (const auto& [name, sql] : should) {
    const auto found = is.find(name);
    if (found == is.end())
      return fmt::format("The {} is missing, which keeps entries from being altered or lost.", name);
    if (found->second != sql) return fmt::format("The {} is not as the program makes it.", name);
  }
  for (const auto& [name, sql] : is)
    if (!should.contains(name)) return fmt::format("The {} is none of the record's own.", name);
  return std::nullopt;
}

}  // namespace shankwright::record
