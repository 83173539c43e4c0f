#include "record/reader.hpp"

#include <map>
#include <utility>

#include "record/fitting_cursor.hpp"
#include "record/numbers_like.hpp"
#include "record/serial.hpp"
#include "record/statement.hpp"

namespace shankwright::record {
namespace {

using ports::FittingRow;

constexpr auto row_columns =
    "SELECT f.serial, f.recipe_id, f.recipe_revision, f.job, f.operator_id, f.rope_lot, f.terminal_lot,"
    " f.die_pair_id, f.stage, f.verdict, f.started_utc_us, f.changed_utc_us";
constexpr auto whole_fittings =
    ", s.state_json, d.content FROM fitting_index f JOIN fitting_states s USING (number)"
    " JOIN documents d ON d.hash = f.document_hash ";

FittingRow row_of(SQLite::Statement& statement) {
  FittingRow row;
  int column = 0;
  const auto text = [&] { return statement.getColumn(column++).getString(); };
  row.serial = text();
  row.recipe_id = text();
  row.recipe_revision = statement.getColumn(column++).getUInt();
  row.job = text();
  row.operator_id = text();
  row.rope_lot = text();
  row.terminal_lot = text();
  row.die_pair_id = text();
  row.stage = text();
  row.verdict = text();
  row.started_utc_us = statement.getColumn(column++).getInt64();
  row.changed_utc_us = statement.getColumn(column++).getInt64();
  row.state_json = text();
  row.joined_recipe_json = text();
  return row;
}

std::vector<FittingRow> rows_of(SQLite::Statement& statement) {
  std::vector<FittingRow> rows;
  while (statement.executeStep()) rows.push_back(row_of(statement));
  return rows;
}

constexpr auto entry_columns =
    "SELECT e.sequence, e.at_utc_us, e.serial, e.kind, e.event, e.actor, e.body_json, e.state_json, e.stage,"
    " e.trace_hash";

ports::StoredEntry entry_of(SQLite::Statement& statement) {
  ports::StoredEntry stored;
  stored.sequence = statement.getColumn(0).getInt64();
  stored.entry.at_utc_us = statement.getColumn(1).getInt64();
  stored.entry.serial = statement.getColumn(2).getString();
  stored.entry.kind = statement.getColumn(3).getString();
  stored.entry.event = statement.getColumn(4).getString();
  stored.entry.actor = statement.getColumn(5).getString();
  stored.entry.body_json = statement.getColumn(6).getString();
  stored.entry.state_json = statement.getColumn(7).getString();
  stored.entry.stage = statement.getColumn(8).getString();
  return stored;
}

}  // namespace

std::vector<FittingRow> read_open_fittings(SQLite::Database& database) {
  SQLite::Statement statement(database,
                              std::string(row_columns) + whole_fittings +
                                  "WHERE f.stage NOT IN ('released', 'scrapped') ORDER BY f.number");
  return rows_of(statement);
}

std::vector<FittingRow> read_fittings(SQLite::Database& database, const ports::FittingFilter& filter,
                                      std::int64_t after_number) {
  std::vector<FittingRow> out;
  FittingCursor cursor(database, filter, after_number);
  while (out.size() < filter.limit && cursor.next()) cursor.read(out.emplace_back());
  return out;
}

FittingLookup::FittingLookup(SQLite::Database& database)
    : row_(database, std::string(row_columns) + whole_fittings + "WHERE f.serial = ?") {}

std::optional<FittingRow> FittingLookup::find(const std::string& serial) {
  const Reset reset{row_};
  row_.bindNoCopy(1, serial);
  if (!row_.executeStep()) return std::nullopt;
  return row_of(row_);
}

std::vector<PackedEntry> read_entries(SQLite::Database& database, const std::string& serial,
                                      bool with_traces) {
  SQLite::Statement statement(
      database, std::string(entry_columns) +
                    (with_traces ? ", t.bytes FROM entries e LEFT JOIN traces t USING (sequence)"
                                 : ", NULL FROM entries e") +
                    " WHERE e.serial = ? ORDER BY e.sequence");
  statement.bind(1, serial);
  std::vector<PackedEntry> out;
  while (statement.executeStep()) {
    PackedEntry packed;
    packed.stored = entry_of(statement);
    packed.trace_hash = statement.getColumn(9).getString();
    packed.trace = statement.getColumn(10).getString();
    out.push_back(std::move(packed));
  }
  return out;
}

std::vector<ports::StoredEntry> read_entries_of_kind(SQLite::Database& database, const std::string& kind,
                                                     std::int64_t after_sequence) {
  SQLite::Statement statement(database, std::string(entry_columns) +
                                            " FROM entries e WHERE e.serial = '' AND e.kind = ?"
                                            " AND e.sequence > ? ORDER BY e.sequence");
  statement.bind(1, kind);
  statement.bind(2, after_sequence);
  std::vector<ports::StoredEntry> out;
  while (statement.executeStep()) out.push_back(entry_of(statement));
  return out;
}

std::uint64_t read_strokes(SQLite::Database& database, const std::string& die_pair_id) {
  SQLite::Statement statement(database, "SELECT strokes FROM die_strokes WHERE die_pair_id = ?");
  statement.bind(1, die_pair_id);
  return statement.executeStep() ? static_cast<std::uint64_t>(statement.getColumn(0).getInt64()) : 0;
}

std::optional<ports::StoredEntry> read_first_of_kind_after(SQLite::Database& database,
                                                           const std::string& kind,
                                                           std::int64_t after_sequence) {
  SQLite::Statement statement(database, std::string(entry_columns) +
                                            " FROM entries e WHERE e.serial = '' AND e.kind = ?"
                                            " AND e.sequence > ? ORDER BY e.sequence LIMIT 1");
  statement.bind(1, kind);
  statement.bind(2, after_sequence);
  if (!statement.executeStep()) return std::nullopt;
  return entry_of(statement);
}

std::optional<EntryRange> read_entry_range(SQLite::Database& database, const std::string& serial) {
  SQLite::Statement statement(database,
                              "SELECT opened_sequence, last_sequence FROM fitting_index WHERE serial = ?");
  statement.bind(1, serial);
  if (!statement.executeStep()) return std::nullopt;
  return EntryRange{statement.getColumn(0).getInt64(), statement.getColumn(1).getInt64()};
}

std::vector<std::string> read_serials_near(SQLite::Database& database, const std::string& typed) {
  constexpr std::size_t most_by_beginning = 100;
  const auto newest = database.execAndGet("SELECT coalesce(max(number), 0) FROM fitting_index").getInt64();
  std::map<std::int64_t, std::string> found;
  SQLite::Statement row(database, "SELECT serial FROM fitting_index WHERE number = ?");
  for (const auto number : numbers_like(typed, newest)) {
    const Reset reset{row};
    row.bind(1, number);
    if (row.executeStep()) found.emplace(number, row.getColumn(0).getString());
  }
  if (!bare(typed).empty()) {
    ports::FittingFilter beginning;
    beginning.serial_prefix = typed;
    FittingCursor cursor(database, beginning, 0);
    for (std::size_t count = 0; count < most_by_beginning && cursor.next(); ++count) {
      FittingRow begins;
      cursor.read(begins);
      found.emplace(cursor.number(), begins.serial);
    }
  }
  std::vector<std::string> out;
  for (auto& [number, serial] : found) out.push_back(std::move(serial));
  return out;
}

std::vector<std::string> read_serials(SQLite::Database& database) {
  SQLite::Statement statement(database, "SELECT serial FROM fitting_index ORDER BY number");
  std::vector<std::string> out;
  while (statement.executeStep()) out.push_back(statement.getColumn(0).getString());
  return out;
}

bool serial_is_reserved(SQLite::Database& database, const std::string& serial) {
  SQLite::Statement statement(database, "SELECT 1 FROM serials WHERE serial = ?");
  statement.bind(1, serial);
  return statement.executeStep();
}

}  // namespace shankwright::record
