#include "record/integrity.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <string_view>

namespace shankwright::record {
namespace {

std::string_view column_bytes(const SQLite::Column& column) {
  return {static_cast<const char*>(column.getBlob()), static_cast<std::size_t>(column.getBytes())};
}

// The recipe that an opening entry names by its hash must be there, and be what it was.
std::optional<std::string> document_fault(SQLite::Database& database, const std::string& opening) {
  const auto facts = nlohmann::json::parse(opening, nullptr, false);
  if (!facts.is_object()) return "its opening facts do not read as JSON";
  const auto named = facts.value("document", "");
  const auto hash = from_hex(named);
  if (!hash) return "it names no recipe document";
  SQLite::Statement document(database, "SELECT content FROM documents WHERE hash = ?");
  document.bind(1, hash->data(), static_cast<int>(hash->size()));
  if (!document.executeStep()) return fmt::format("its recipe document {} is missing", named);
  if (hash_of(document.getColumn(0).getString()) != *hash) return "its recipe document has been altered";
  return std::nullopt;
}

std::optional<std::string> fault_of(SQLite::Database& database, SQLite::Statement& row, std::int64_t sequence,
                                    const Hash& previous) {
  if (row.getColumn("sequence").getInt64() != sequence) return "an entry is missing before it";
  if (column_bytes(row.getColumn("previous_hash")) != bytes_of(previous))
    return "it does not follow on the entry before it";
  const auto serial = row.getColumn("serial").getString(), kind = row.getColumn("kind").getString(),
             event = row.getColumn("event").getString(), actor = row.getColumn("actor").getString(),
             body = row.getColumn("body_json").getString(), state = row.getColumn("state_json").getString(),
             stage = row.getColumn("stage").getString(), opening = row.getColumn("opening_json").getString();
  const auto trace_column = row.getColumn("trace_hash"), stored = row.getColumn("hash"),
             trace = row.getColumn("bytes");
  HashedFields fields{sequence, row.getColumn("at_utc_us").getInt64(),
                      serial,   kind,
                      event,    actor,
                      body,     state,
                      stage,    opening,
                      {}};
  fields.trace_hash = column_bytes(trace_column);
  if (bytes_of(entry_hash(previous, fields)) != column_bytes(stored))
    return "its content does not match its hash";
  if (trace.isNull() != trace_column.isNull())
    return trace.isNull() ? "its trace is missing" : "it has a trace that was not there when it was written";
  if (!trace.isNull() && bytes_of(hash_of(column_bytes(trace))) != fields.trace_hash)
    return "its trace does not match its hash";
  return opening.empty() ? std::nullopt : document_fault(database, opening);
}

}  // namespace

ChainReport check_chain(SQLite::Database& database, std::int64_t first) {
  ChainReport report;
  Hash previous{};
  if (first > 1) {
    SQLite::Statement before(database, "SELECT hash FROM entries WHERE sequence = ?");
    before.bind(1, first - 1);
    if (!before.executeStep()) {
      report.broken = ChainReport::Break{first - 1, "the entry is missing"};
      return report;
    }
    previous = as_hash(column_bytes(before.getColumn(0))).value();
  }
  SQLite::Statement row(database,
                        "SELECT e.*, t.bytes FROM entries e LEFT JOIN traces t USING (sequence)"
                        " WHERE e.sequence >= ? ORDER BY e.sequence");
  row.bind(1, first);
  for (std::int64_t sequence = first; row.executeStep(); ++sequence) {
    if (const auto fault = fault_of(database, row, sequence, previous)) {
      report.broken = ChainReport::Break{row.getColumn("sequence").getInt64(), *fault};
      return report;
    }
    previous = as_hash(column_bytes(row.getColumn("hash"))).value();
    ++report.checked;
    report.newest = sequence;
  }
  if (report.checked > 0 || first > 1) report.newest_hash = previous;
  if (report.checked == 0 && first > 1) report.newest = first - 1;
  // A trace without its entry is evidence of tampering too; the foreign key would not have let it in.
  SQLite::Statement stray(database, "SELECT min(sequence) FROM traces WHERE sequence > ?");
  stray.bind(1, report.newest);
  if (stray.executeStep() && !stray.getColumn(0).isNull())
    report.broken =
        ChainReport::Break{stray.getColumn(0).getInt64(), "a trace stands there without its entry"};
  return report;
}

std::optional<Problem> check_file(SQLite::Database& database) {
  SQLite::Statement check(database, "PRAGMA quick_check(1)");
  const auto answer = check.executeStep() ? check.getColumn(0).getString() : std::string("no answer");
  if (answer == "ok") return std::nullopt;
  return Problem{database.getFilename(), "a damaged file: " + answer,
                 "a record as the station wrote it; restore it from a copy"};
}

}  // namespace shankwright::record
