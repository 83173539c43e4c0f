#include "record/schema.hpp"

#include <fmt/format.h>

#include <string>

#include "record/connection.hpp"

namespace shankwright::record {
namespace {

constexpr std::int64_t application_id = 0x53575231;  // "SWR1", in the file's header

// STRICT: SQLite's usual habit of storing whatever comes would let a wrong type into the chain.
// The insert triggers close the back door of INSERT OR REPLACE, which deletes without asking the delete
// trigger.
constexpr std::string_view version_1 = R"sql(
CREATE TABLE entries (
  sequence      INTEGER PRIMARY KEY,
  at_utc_us     INTEGER NOT NULL,
  serial        TEXT NOT NULL,
  kind          TEXT NOT NULL,
  event         TEXT NOT NULL,
  actor         TEXT NOT NULL,
  body_json     TEXT NOT NULL,
  state_json    TEXT NOT NULL,
  stage         TEXT NOT NULL,
  opening_json  TEXT NOT NULL,
  trace_hash    BLOB,
  previous_hash BLOB NOT NULL CHECK (length(previous_hash) = 32),
  hash          BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX entries_of_serial ON entries (serial, sequence);
CREATE TRIGGER entries_are_appended BEFORE INSERT ON entries
  WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entries)
  BEGIN SELECT raise(ABORT, 'entries are only ever appended'); END;
CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN SELECT raise(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entries_remain BEFORE DELETE ON entries BEGIN SELECT raise(ABORT, 'entries are never deleted'); END;

CREATE TABLE traces (
  sequence INTEGER PRIMARY KEY REFERENCES entries (sequence),
  samples  INTEGER NOT NULL,
  bytes    BLOB NOT NULL
) STRICT;
CREATE TRIGGER traces_are_appended BEFORE INSERT ON traces
  WHEN EXISTS (SELECT 1 FROM traces WHERE sequence = NEW.sequence)
  BEGIN SELECT raise(ABORT, 'traces are only ever appended'); END;
CREATE TRIGGER traces_stay BEFORE UPDATE ON traces BEGIN SELECT raise(ABORT, 'traces are never changed'); END;
CREATE TRIGGER traces_remain BEFORE DELETE ON traces BEGIN SELECT raise(ABORT, 'traces are never deleted'); END;

CREATE TABLE documents (
  hash    BLOB NOT NULL PRIMARY KEY CHECK (length(hash) = 32),
  content TEXT NOT NULL
) STRICT;
CREATE TRIGGER documents_are_appended BEFORE INSERT ON documents
  WHEN EXISTS (SELECT 1 FROM documents WHERE hash = NEW.hash)
  BEGIN SELECT raise(ABORT, 'documents are only ever appended'); END;
CREATE TRIGGER documents_stay BEFORE UPDATE ON documents
  BEGIN SELECT raise(ABORT, 'documents are never changed'); END;
CREATE TRIGGER documents_remain BEFORE DELETE ON documents
  BEGIN SELECT raise(ABORT, 'documents are never deleted'); END;

CREATE TABLE serials (
  number   INTEGER PRIMARY KEY,
  serial   TEXT NOT NULL UNIQUE,
  sequence INTEGER NOT NULL REFERENCES entries (sequence)
) STRICT;

CREATE TABLE fitting_index (
  number          INTEGER PRIMARY KEY REFERENCES serials (number),
  serial          TEXT NOT NULL UNIQUE,
  recipe_id       TEXT NOT NULL,
  recipe_revision INTEGER NOT NULL,
  job             TEXT NOT NULL,
  operator_id     TEXT NOT NULL,
  rope_lot        TEXT NOT NULL,
  terminal_lot    TEXT NOT NULL,
  die_pair_id     TEXT NOT NULL,
  document_hash   BLOB NOT NULL REFERENCES documents (hash),
  started_utc_us  INTEGER NOT NULL,
  changed_utc_us  INTEGER NOT NULL,
  stage           TEXT NOT NULL,
  verdict         TEXT NOT NULL,
  state_sequence  INTEGER NOT NULL REFERENCES entries (sequence)
) STRICT;
CREATE INDEX fittings_by_start ON fitting_index (started_utc_us);
CREATE INDEX fittings_by_job ON fitting_index (job);
CREATE INDEX fittings_by_rope_lot ON fitting_index (rope_lot);
CREATE INDEX fittings_by_terminal_lot ON fitting_index (terminal_lot);
CREATE INDEX fittings_open ON fitting_index (number) WHERE stage NOT IN ('released', 'scrapped');
)sql";

// The record may be spread over closed files and a live one (parts.hpp); what is derived carries the newest
// state itself, so that no row needs an entry that lies in a closed file.
constexpr std::string_view version_2 = R"sql(
DROP TABLE fitting_index;
DROP TABLE serials;
DROP TRIGGER entries_are_appended;

CREATE TABLE parts (
  number         INTEGER PRIMARY KEY,
  first_sequence INTEGER NOT NULL,
  last_sequence  INTEGER NOT NULL,
  head           BLOB NOT NULL CHECK (length(head) = 32),
  file           TEXT NOT NULL
) STRICT;
CREATE TRIGGER parts_are_set_at_the_start BEFORE INSERT ON parts
  WHEN EXISTS (SELECT 1 FROM entries) OR EXISTS (SELECT 1 FROM parts WHERE number = NEW.number)
  BEGIN SELECT raise(ABORT, 'parts are set before the first entry'); END;
CREATE TRIGGER parts_stay BEFORE UPDATE ON parts BEGIN SELECT raise(ABORT, 'parts are never changed'); END;
CREATE TRIGGER parts_remain BEFORE DELETE ON parts BEGIN SELECT raise(ABORT, 'parts are never deleted'); END;
CREATE TRIGGER entries_are_appended BEFORE INSERT ON entries
  WHEN NEW.sequence IS NOT
    coalesce((SELECT max(sequence) FROM entries), (SELECT max(last_sequence) FROM parts), 0) + 1
  BEGIN SELECT raise(ABORT, 'entries are only ever appended'); END;
CREATE INDEX entries_of_kind ON entries (kind, sequence) WHERE serial = '';

CREATE TABLE serials (
  number   INTEGER PRIMARY KEY,
  serial   TEXT NOT NULL UNIQUE,
  sequence INTEGER NOT NULL
) STRICT;

CREATE TABLE fitting_index (
  number          INTEGER PRIMARY KEY REFERENCES serials (number),
  serial          TEXT NOT NULL UNIQUE,
  recipe_id       TEXT NOT NULL,
  recipe_revision INTEGER NOT NULL,
  job             TEXT NOT NULL,
  operator_id     TEXT NOT NULL,
  rope_lot        TEXT NOT NULL,
  terminal_lot    TEXT NOT NULL,
  die_pair_id     TEXT NOT NULL,
  document_hash   BLOB NOT NULL REFERENCES documents (hash),
  started_utc_us  INTEGER NOT NULL,
  changed_utc_us  INTEGER NOT NULL,
  stage           TEXT NOT NULL,
  verdict         TEXT NOT NULL,
  opened_sequence INTEGER NOT NULL,
  last_sequence   INTEGER NOT NULL,
  state_json      TEXT NOT NULL
) STRICT;
CREATE INDEX fittings_by_start ON fitting_index (started_utc_us);
CREATE INDEX fittings_by_job ON fitting_index (job);
CREATE INDEX fittings_by_rope_lot ON fitting_index (rope_lot);
CREATE INDEX fittings_by_terminal_lot ON fitting_index (terminal_lot);
CREATE INDEX fittings_open ON fitting_index (number) WHERE stage NOT IN ('released', 'scrapped');
)sql";

// Search that costs what it finds, however many fittings there are (index.hpp). All of it follows from the
// entries.
constexpr std::string_view version_3 = R"sql(
DROP TABLE fitting_index;

CREATE TABLE fitting_index (
  number          INTEGER PRIMARY KEY REFERENCES serials (number),
  serial          TEXT NOT NULL UNIQUE,
  recipe_id       TEXT NOT NULL,
  recipe_revision INTEGER NOT NULL,
  job             TEXT NOT NULL,
  operator_id     TEXT NOT NULL,
  rope_lot        TEXT NOT NULL,
  terminal_lot    TEXT NOT NULL,
  die_pair_id     TEXT NOT NULL,
  document_hash   BLOB NOT NULL REFERENCES documents (hash),
  started_utc_us  INTEGER NOT NULL,
  changed_utc_us  INTEGER NOT NULL,
  stage           TEXT NOT NULL,
  verdict         TEXT NOT NULL,
  opened_sequence INTEGER NOT NULL,
  last_sequence   INTEGER NOT NULL,
  bites_done      INTEGER NOT NULL,
  texts           INTEGER NOT NULL
) STRICT;
CREATE INDEX fittings_open ON fitting_index (number) WHERE stage NOT IN ('released', 'scrapped');

CREATE TABLE fitting_states (
  number     INTEGER PRIMARY KEY,
  state_json TEXT NOT NULL
) STRICT;

CREATE TABLE terms (
  id    INTEGER PRIMARY KEY,
  field TEXT NOT NULL,
  value TEXT NOT NULL,
  UNIQUE (field, value)
) STRICT;
CREATE TABLE number_sets (
  term    INTEGER NOT NULL,
  chunk   INTEGER NOT NULL,
  numbers BLOB NOT NULL,
  PRIMARY KEY (term, chunk)
) STRICT, WITHOUT ROWID;

CREATE TABLE start_blocks (
  block        INTEGER PRIMARY KEY,
  least_utc_us INTEGER NOT NULL,
  most_utc_us  INTEGER NOT NULL
) STRICT;

CREATE TABLE die_strokes (
  die_pair_id TEXT NOT NULL PRIMARY KEY,
  strokes     INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE VIRTUAL TABLE texts USING fts5 (words, content = '', tokenize = 'unicode61');
)sql";

std::int64_t pragma(SQLite::Database& database, const char* name) {
  return database.execAndGet(fmt::format("PRAGMA {}", name)).getInt64();
}

bool is_empty(SQLite::Database& database) {
  return database.execAndGet("SELECT count(*) FROM sqlite_master").getInt64() == 0;
}

// Nothing when the file is a record or has never been one.
std::optional<Problem> foreign(SQLite::Database& database) {
  const auto id = pragma(database, "application_id");
  if (id == application_id) return std::nullopt;
  if (id == 0 && pragma(database, "user_version") == 0 && is_empty(database)) return std::nullopt;
  return Problem{database.getFilename(), "a database of another program",
                 "a record of Shankwright or an empty folder"};
}

Problem newer(SQLite::Database& database, std::int64_t found, std::size_t known) {
  return {database.getFilename(), fmt::format("a record of version {}", found),
          fmt::format("version {} or older; open it with the newer program that wrote it", known)};
}

}  // namespace

const std::vector<std::string_view>& schema_steps() {
  static const std::vector<std::string_view> steps{version_1, version_2, version_3};
  return steps;
}

Result<int> bring_up_to_date(SQLite::Database& database, const std::vector<std::string_view>& steps,
                             const std::function<void()>& rebuild_index) {
  if (const auto problem = foreign(database)) return *problem;
  const auto before = pragma(database, "user_version");
  const auto newest = static_cast<std::int64_t>(steps.size());
  if (before < 0 || before > newest) return newer(database, before, steps.size());
  if (before == newest) return static_cast<int>(newest);
  Transaction transaction(database);
  for (auto version = before; version < newest; ++version)
    database.exec(std::string(steps[static_cast<std::size_t>(version)]));
  database.exec(fmt::format("PRAGMA user_version={}; PRAGMA application_id={};", newest, application_id));
  if (before > 0) rebuild_index();
  transaction.commit();
  return static_cast<int>(newest);
}

Result<int> expect_version(SQLite::Database& database, const std::vector<std::string_view>& steps) {
  if (const auto problem = foreign(database)) return *problem;
  const auto version = pragma(database, "user_version");
  if (version > static_cast<std::int64_t>(steps.size())) return newer(database, version, steps.size());
  if (version < static_cast<std::int64_t>(steps.size()))
    return Problem{database.getFilename(),
                   version == 0 ? "an empty record" : fmt::format("version {}", version),
                   fmt::format("version {}; start the station on this folder once", steps.size())};
  return static_cast<int>(version);
}

}  // namespace shankwright::record
