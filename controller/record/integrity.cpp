#include "record/integrity.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>
#include <set>

#include "record/parts.hpp"
#include "record/trace_codec.hpp"

namespace shankwright::record {
namespace {

// Rows as they lie in SQLite's own memory: valid until the next step, and nothing is copied. SQLiteCpp's
// columns copy, and this walk is judged by the speed of the hash alone.
class Rows {
 public:
  Rows(SQLite::Database& database, const char* sql) : database_(database.getHandle()) {
    check(sqlite3_prepare_v2(database_, sql, -1, &statement_, nullptr), SQLITE_OK);
  }
  ~Rows() { sqlite3_finalize(statement_); }
  Rows(const Rows&) = delete;
  Rows& operator=(const Rows&) = delete;

  void bind(int parameter, std::int64_t value) {
    check(sqlite3_bind_int64(statement_, parameter, value), SQLITE_OK);
  }
  [[nodiscard]] bool step() {
    const int code = sqlite3_step(statement_);
    if (code != SQLITE_DONE) check(code, SQLITE_ROW);
    return code == SQLITE_ROW;
  }
  [[nodiscard]] std::int64_t whole(int column) const { return sqlite3_column_int64(statement_, column); }
  [[nodiscard]] bool is_null(int column) const {
    return sqlite3_column_type(statement_, column) == SQLITE_NULL;
  }
  [[nodiscard]] std::string_view bytes(int column) const {
    const auto* const begin = static_cast<const char*>(sqlite3_column_blob(statement_, column));
    return {begin == nullptr ? "" : begin,
            static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
  }

 private:
  void check(int code, int expected) const {
    if (code != expected) throw SQLite::Exception(database_, code);
  }
  sqlite3* database_;
  sqlite3_stmt* statement_ = nullptr;
};

enum Column {
  sequence_column,
  at_column,
  serial_column,
  kind_column,
  event_column,
  actor_column,
  body_column,
  state_column,
  stage_column,
  opening_column,
  trace_hash_column,
  previous_column,
  hash_column
};
constexpr auto select_rows =
    "SELECT e.sequence, e.at_utc_us, e.serial, e.kind, e.event, e.actor, e.body_json, e.state_json, e.stage,"
    " e.opening_json, e.trace_hash, e.previous_hash, e.hash"
    " FROM entries e WHERE e.sequence >= ? ORDER BY e.sequence";

// The traces beside the entries, in the same order: quicker than looking for each.
class Traces {
 public:
  Traces(SQLite::Database& database, std::int64_t first)
      : row_(database, "SELECT sequence, bytes, samples FROM traces WHERE sequence >= ? ORDER BY sequence") {
    row_.bind(1, first);
    next();
  }

  /// What is wrong with the trace of an entry. `hash` is what the entry says of it; empty for an entry
  /// without one.
  std::optional<std::string> fault_of(std::int64_t sequence, std::string_view hash, std::uint64_t& bytes) {
    while (at_ < sequence) next();
    if ((at_ == sequence) == hash.empty())
      return hash.empty() ? "it has a trace that was not there when it was written" : "its trace is missing";
    if (hash.empty()) return std::nullopt;
    const auto trace = row_.bytes(1);
    if (bytes_of(hash_of(trace)) != hash) return "its trace does not match its hash";
    if (row_.whole(2) != static_cast<std::int64_t>(sample_count(trace)))
      return "its trace is said to have another number of samples than it has";
    bytes += trace.size();
    return std::nullopt;
  }

 private:
  void next() { at_ = row_.step() ? row_.whole(0) : std::numeric_limits<std::int64_t>::max(); }
  Rows row_;
  std::int64_t at_ = 0;
};

// The recipe that an opening entry names by its hash must be there, and be what it was.
class Documents {
 public:
  explicit Documents(SQLite::Database& database)
      : content_(database, "SELECT content FROM documents WHERE hash = ?") {}

  std::optional<std::string> fault_of(std::string_view opening) {
    const auto facts = nlohmann::json::parse(opening, nullptr, false);
    if (!facts.is_object()) return "its opening facts do not read as JSON";
    const auto named = facts.value("document", "");
    if (sound_.contains(named)) return std::nullopt;
    const auto hash = from_hex(named);
    if (!hash) return "it names no recipe document";
    content_.reset();
    content_.bind(1, hash->data(), static_cast<int>(hash->size()));
    if (!content_.executeStep()) return fmt::format("its recipe document {} is missing", named);
    if (hash_of(content_.getColumn(0).getString()) != *hash) return "its recipe document has been altered";
    sound_.insert(named);
    return std::nullopt;
  }

 private:
  SQLite::Statement content_;
  std::set<std::string> sound_;
};

}  // namespace

ChainReport check_chain(SQLite::Database& database, std::int64_t first, const EntryCheck& check) {
  ChainReport report;
  const auto base = chain_base(database);
  first = std::max(first, base.sequence + 1);
  Hash previous = base.hash;
  if (first > base.sequence + 1) {
    Rows before(database, "SELECT hash FROM entries WHERE sequence = ?");
    before.bind(1, first - 1);
    if (!before.step()) {
      report.broken = ChainReport::Break{first - 1, "the entry is missing"};
      return report;
    }
    previous = as_hash(before.bytes(0)).value_or(Hash{});
  }
  report.newest = first - 1;
  report.newest_hash = previous;
  Documents documents(database);
  Rows row(database, select_rows);
  row.bind(1, first);
  Traces traces(database, first);
  std::string room;
  const auto fault_of = [&](std::int64_t sequence, Hash& hash) -> std::optional<std::string> {
    if (row.whole(sequence_column) != sequence) return "an entry is missing before it";
    if (row.bytes(previous_column) != bytes_of(previous)) return "it does not follow on the entry before it";
    const HashedFields fields{sequence,
                              row.whole(at_column),
                              row.bytes(serial_column),
                              row.bytes(kind_column),
                              row.bytes(event_column),
                              row.bytes(actor_column),
                              row.bytes(body_column),
                              row.bytes(state_column),
                              row.bytes(stage_column),
                              row.bytes(opening_column),
                              row.bytes(trace_hash_column)};
    hash = entry_hash(previous, fields, room);
    if (bytes_of(hash) != row.bytes(hash_column)) return "its content does not match its hash";
    if (row.is_null(trace_hash_column) != fields.trace_hash.empty())
      return "it says of its trace what the program never says";
    if (auto fault = traces.fault_of(sequence, fields.trace_hash, report.bytes)) return fault;
    if (!fields.opening_json.empty()) {
      if (auto fault = documents.fault_of(fields.opening_json)) return fault;
    }
    report.bytes += fields.body_json.size() + fields.state_json.size();
    return check ? check({fields, hash, previous}) : std::nullopt;
  };
  for (std::int64_t sequence = first; row.step(); ++sequence) {
    Hash hash{};
    if (const auto fault = fault_of(sequence, hash)) {
      report.broken = ChainReport::Break{row.whole(sequence_column), *fault};
      return report;
    }
    previous = hash;
    ++report.checked;
    report.newest = sequence;
  }
  report.newest_hash = previous;
  // A trace without its entry is evidence of tampering too; the foreign key would not have let it in.
  // Two questions: one with both conditions would go through the whole table, at every start.
  for (const auto& [sql, bound] :
       {std::pair{"SELECT min(sequence) FROM traces WHERE sequence <= ?", base.sequence},
        std::pair{"SELECT min(sequence) FROM traces WHERE sequence > ?", report.newest}}) {
    SQLite::Statement stray(database, sql);
    stray.bind(1, bound);
    if (stray.executeStep() && !stray.getColumn(0).isNull() && !report.broken)
      report.broken =
          ChainReport::Break{stray.getColumn(0).getInt64(), "a trace stands there without its entry"};
  }
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
