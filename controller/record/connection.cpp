#include "record/connection.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <string>

namespace shankwright::record {
namespace {

constexpr int busy_timeout_ms = 5000;

bool has_bytes(const std::filesystem::path& file) {
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  return !error && size > 0;
}

// SQLite's URI file names: these three characters mean something else there.
std::string as_uri(const std::filesystem::path& file) {
  std::string out = "file:";
  for (const char character : file.string()) {
    if (character == '%' || character == '?' || character == '#')
      out += fmt::format("%{:02X}", static_cast<unsigned>(static_cast<unsigned char>(character)));
    else
      out += character;
  }
  return out + "?immutable=1";
}

std::unique_ptr<SQLite::Database> open_to_read(const std::string& name, int flags) {
  auto database = std::make_unique<SQLite::Database>(
      name, SQLite::OPEN_READONLY | SQLite::OPEN_NOMUTEX | flags, busy_timeout_ms);
  database->exec("PRAGMA query_only=ON");
  // Opening alone touches nothing; the first read finds out whether the journal can be used.
  (void)database->execAndGet("SELECT count(*) FROM sqlite_master").getInt64();
  return database;
}

void must(int code, const char* what) {
  if (code != SQLITE_OK) throw SQLite::Exception(what, code);
}

// After a failed fsync Linux takes the journal's pages for clean: programs go on reading bytes that are not
// on the disk and that no later fsync brings there. A station that was killed then, and started again, would
// find such an entry and write further ones behind what is a gap after the next loss of power. Writing the
// same bytes once more makes them dirty again. On a full disk it is left: nothing is worse than before.
void renew_journal(SQLite::Database& database) {
  Transaction nobody_else_writes(database);
  sqlite3_file* journal = nullptr;
  must(sqlite3_file_control(database.getHandle(), "main", SQLITE_FCNTL_JOURNAL_POINTER, &journal),
       "the journal cannot be found");
  if (journal == nullptr || journal->pMethods == nullptr) return;
  sqlite3_int64 size = 0;
  must(journal->pMethods->xFileSize(journal, &size), "the journal has no size");
  std::array<char, 65536> bytes{};
  for (sqlite3_int64 done = 0; done < size;) {
    const auto amount = static_cast<int>(std::min<sqlite3_int64>(size - done, bytes.size()));
    must(journal->pMethods->xRead(journal, bytes.data(), amount, done), "the journal cannot be read");
    const int code = journal->pMethods->xWrite(journal, bytes.data(), amount, done);
    if (code == SQLITE_FULL) return;
    must(code, "the journal cannot be written anew");
    done += amount;
  }
  if (size > 0)
    must(journal->pMethods->xSync(journal, SQLITE_SYNC_NORMAL), "the journal cannot be written anew");
}

}  // namespace

std::unique_ptr<SQLite::Database> connect_writer(const std::filesystem::path& file) {
  auto database = std::make_unique<SQLite::Database>(
      file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busy_timeout_ms);
  database->exec(
      "PRAGMA journal_mode=WAL;"
      "PRAGMA synchronous=FULL;"
      "PRAGMA foreign_keys=ON;"
      "PRAGMA recursive_triggers=ON;"
      "PRAGMA journal_size_limit=67108864;");
  renew_journal(*database);
  return database;
}

std::unique_ptr<SQLite::Database> connect_reader(const std::filesystem::path& file) {
  try {
    return open_to_read(file.string(), 0);
  } catch (const SQLite::Exception& error) {
    const int code = error.getErrorCode();
    auto journal = file;
    journal += "-wal";
    // With a journal that holds entries the file alone would be the past, not the record.
    if ((code != SQLITE_CANTOPEN && code != SQLITE_READONLY) || !has_bytes(file) || has_bytes(journal)) throw;
    return open_to_read(as_uri(file), SQLite::OPEN_URI);
  }
}

Problem problem_of(const SQLite::Exception& error, const std::filesystem::path& file) {
  const auto place = file.string();
  const auto detail = fmt::format("{} (SQLite {})", error.what(), error.getExtendedErrorCode());
  switch (error.getErrorCode()) {
    case SQLITE_FULL:
      return {place, "no room left on the disk",
              "free space for the record; nothing of this step has been kept"};
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {place, "the record locked by another program",
              "a record that only the station writes to: " + detail};
    case SQLITE_IOERR:
      return {place, "a disk that fails: " + detail,
              "a disk that works; repair it, then start the station again so that it can check the record"};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {place, "a damaged file: " + detail, "a record as the station wrote it; restore it from a copy"};
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
    case SQLITE_AUTH:
      return {place, "a file that cannot be opened: " + detail, "a record that this user may open"};
    default:
      return {place, detail, "a record that takes what the station writes"};
  }
}

bool disk_in_doubt(const SQLite::Exception& error) {
  const int code = error.getErrorCode();
  return code == SQLITE_IOERR || code == SQLITE_CORRUPT || code == SQLITE_NOTADB;
}

Transaction::Transaction(SQLite::Database& database) : database_(database) {
  database_.exec("BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
  // SQLite has rolled back by itself after some errors; a second rollback would be an error of its own.
  if (sqlite3_get_autocommit(database_.getHandle()) == 0) (void)database_.tryExec("ROLLBACK");
}

void Transaction::commit() {
  database_.exec("COMMIT");
}

}  // namespace shankwright::record
