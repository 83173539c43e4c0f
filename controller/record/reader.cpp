#include "record/reader.hpp"

#include <algorithm>
#include <limits>
#include <utility>

#include "record/serial.hpp"

namespace shankwright::record {
namespace {

using ports::FittingRow;

constexpr auto row_columns =
    "SELECT f.serial, f.recipe_id, f.recipe_revision, f.job, f.operator_id, f.rope_lot, f.terminal_lot,"
    " f.die_pair_id, f.stage, f.verdict, f.started_utc_us, f.changed_utc_us";
constexpr auto whole_fittings =
    ", f.state_json, d.content FROM fitting_index f JOIN documents d ON d.hash ="
    " f.document_hash ";
constexpr auto listed_fittings = ", '', '' FROM fitting_index f ";

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
  std::string sql = std::string(row_columns) + listed_fittings + "WHERE f.number > ?";
  std::vector<std::string> texts;
  std::vector<std::int64_t> instants;
  // Instants first, so that texts are bound after them in the order in which they appear.
  const auto at = [&](const char* condition, const std::optional<std::int64_t>& instant) {
    if (!instant) return;
    sql += condition;
    instants.push_back(*instant);
  };
  const auto equals = [&](const char* column, const std::string& value) {
    if (value.empty()) return;
    sql += std::string(" AND f.") + column + " = ?";
    texts.push_back(value);
  };
  at(" AND f.started_utc_us >= ?", filter.from_utc_us);
  at(" AND f.started_utc_us < ?", filter.until_utc_us);
  equals("verdict", filter.verdict);
  equals("recipe_id", filter.recipe_id);
  equals("job", filter.job);
  equals("operator_id", filter.operator_id);
  equals("rope_lot", filter.rope_lot);
  equals("terminal_lot", filter.terminal_lot);
  equals("die_pair_id", filter.die_pair_id);
  if (!filter.serial_prefix.empty()) {
    // Without hyphens on both sides: what people type of a serial's beginning has them or not.
    sql += " AND substr(replace(f.serial, '-', ''), 1, length(?)) = ?";
    texts.insert(texts.end(), 2, bare(filter.serial_prefix));
  }
  sql += " ORDER BY f.number LIMIT ?";
  SQLite::Statement statement(database, sql);
  int parameter = 1;
  statement.bind(parameter++, after_number);
  for (const auto instant : instants) statement.bind(parameter++, instant);
  for (const auto& text : texts) statement.bind(parameter++, text);
  statement.bind(parameter, static_cast<std::int64_t>(std::min<std::size_t>(
                                filter.limit, std::numeric_limits<std::int64_t>::max())));
  return rows_of(statement);
}

std::optional<FittingRow> read_fitting(SQLite::Database& database, const std::string& serial) {
  SQLite::Statement statement(database, std::string(row_columns) + whole_fittings + "WHERE f.serial = ?");
  statement.bind(1, serial);
  if (!statement.executeStep()) return std::nullopt;
  return row_of(statement);
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
  SQLite::Statement statement(database,
                              "SELECT coalesce(sum(json_extract(state_json, '$.bites_done')), 0)"
                              " FROM fitting_index WHERE die_pair_id = ?");
  statement.bind(1, die_pair_id);
  (void)statement.executeStep();
  return static_cast<std::uint64_t>(statement.getColumn(0).getInt64());
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
