#include "record/archive.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>

#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/integrity.hpp"
#include "record/parts.hpp"
#include "record/schema.hpp"
#include "record/store.hpp"
#include "record/whole_file.hpp"
#include "record/writer.hpp"

namespace shankwright::record {
namespace {

Problem refused(const std::filesystem::path& place, int error) {
  return {place.string(), std::strerror(error), "a folder for closed periods on the record's own disk"};
}

std::string name_of(const Part& part) {
  return fmt::format("record-{:09}-{:09}.sqlite3", part.first_sequence, part.last_sequence);
}

// Seals the record as it stands, when all of it is as it was written. Returns the seal's own entry.
Result<Head> seal_whole(const std::filesystem::path& folder) {
  const auto store = SqliteStore::open(folder);
  if (!store) return store.problem();
  for (const bool sealed : {false, true}) {
    const auto chain = store.value()->check_chain();
    if (!chain) return chain.problem();
    if (chain.value().broken)
      return Problem{
          folder.string(),
          fmt::format("a broken chain at entry {}: {}", chain.value().broken->sequence,
                      chain.value().broken->what),
          "a record as the station wrote it; keep it as it is and call the person in charge of records"};
    if (sealed) return Head{chain.value().newest, chain.value().newest_hash};
    if (const auto done = store.value()->append_and_seal({}, "archive"); !done) return done.problem();
  }
  throw std::logic_error("the second look at the chain returns");
}

// What the closed file will be, and one file without a journal. Under the writer's lock.
Result<Part> close_file(const std::filesystem::path& record, const Head& sealed) {
  auto database = connect_writer(record);
  const auto newest = Writer(*database).newest();
  if (newest.sequence != sealed.sequence || newest.hash != sealed.hash)
    return Problem{record.string(), "a record that grew while it was closed",
                   "no station running meanwhile; try again"};
  Part part;
  part.first_sequence = chain_base(*database).sequence + 1;
  part.last_sequence = sealed.sequence;
  part.head = sealed.hash;
  part.number = database->execAndGet("SELECT count(*) + 1 FROM parts").getInt64();
  part.file = name_of(part);
  // The journal goes into the file and its mode is set back, which every reader understands.
  database->exec("PRAGMA journal_mode=DELETE");
  return part;
}

// A process killed between link and rename leaves a second name of the living record.
void drop_second_names(const std::filesystem::path& record) {
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(archive_folder(record), error))
    if (std::filesystem::equivalent(entry.path(), record, error))
      std::filesystem::remove(entry.path(), error);
}

std::vector<std::string> carried_tables(SQLite::Database& database) {
  SQLite::Statement rows(
      database,
      "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
      " AND name NOT IN ('entries', 'traces', 'parts') AND sql NOT LIKE 'CREATE VIRTUAL%'");
  std::vector<std::string> out;
  while (rows.executeStep()) out.push_back(rows.getColumn(0).getString());
  return out;
}

void put_parts(SQLite::Database& database, const Part& closed) {
  database.exec("INSERT INTO main.parts SELECT * FROM old.parts");
  SQLite::Statement add(database,
                        "INSERT INTO main.parts (number, first_sequence, last_sequence, head, file)"
                        " VALUES (?, ?, ?, ?, ?)");
  add.bind(1, closed.number);
  add.bind(2, closed.first_sequence);
  add.bind(3, closed.last_sequence);
  add.bind(4, closed.head.data(), static_cast<int>(closed.head.size()));
  add.bind(5, closed.file);
  add.exec();
}

// The record's next file: what is derived, the recipes, and one entry that follows on the closed file.
std::optional<Problem> make_next(const std::filesystem::path& next, const std::filesystem::path& old,
                                 const Part& closed, const ports::NewEntry& first) {
  if (const auto problem = write_whole_file(next, "", 0600)) return problem;
  auto database = connect_writer(next);
  if (const auto made = bring_up_to_date(*database, schema_steps(), [] {}); !made) return made.problem();
  database->exec("PRAGMA foreign_keys=OFF");
  {
    SQLite::Statement attach(*database, "ATTACH ? AS old");
    attach.bind(1, old.string());
    attach.exec();
  }
  {
    Transaction transaction(*database);
    put_parts(*database, closed);
    for (const auto& table : carried_tables(*database))
      database->exec(
          fmt::format("DELETE FROM main.\"{0}\"; INSERT INTO main.\"{0}\" SELECT * FROM old.\"{0}\"", table));
    transaction.commit();
  }
  database->exec("DETACH old");
  {
    Transaction transaction(*database);
    Writer writer(*database);
    (void)writer.append({closed.last_sequence, closed.head}, first, "");
    transaction.commit();
  }
  SQLite::Statement keys(*database, "PRAGMA foreign_key_check");
  if (keys.executeStep())
    return Problem{next.string(), "a new file that does not hold together",
                   "the index as the old file has it; "
                   "write it anew with shankwright record rebuild-index, then close the period again"};
  database->exec("PRAGMA wal_checkpoint(TRUNCATE)");
  return std::nullopt;
}

// Hard link first, then the new file takes the old one's name: at no moment is a file without a name.
std::optional<Problem> change_over(const std::filesystem::path& record, const std::filesystem::path& next,
                                   const std::filesystem::path& closed) {
  const auto archive = closed.parent_path();
  if (::mkdir(archive.c_str(), 0700) != 0 && errno != EEXIST) return refused(archive, errno);
  if (::link(record.c_str(), closed.c_str()) != 0) return refused(closed, errno);
  if (const int error = synchronise_folder(archive)) return refused(archive, error);
  if (::rename(next.c_str(), record.c_str()) != 0) return refused(record, errno);
  if (const int error = synchronise_folder(record.parent_path())) return refused(record, error);
  if (::chmod(closed.c_str(), 0400) != 0) return refused(closed, errno);
  return std::nullopt;
}

}  // namespace

ports::NewEntry period_closed(std::int64_t first_sequence, std::int64_t last_sequence,
                              std::string_view head_hex, const std::string& file, const std::string& actor,
                              std::int64_t at_utc_us) {
  ports::NewEntry entry;
  entry.at_utc_us = at_utc_us;
  entry.kind = archive_kind;
  entry.event = "period_closed";
  entry.actor = actor;
  entry.body_json = nlohmann::json{
      {"first", first_sequence},
      {"last", last_sequence},
      {"head", head_hex},
      {"file", file}}.dump();
  return entry;
}

Result<ClosedPeriod> close_period(const std::filesystem::path& folder, const std::string& actor,
                                  std::int64_t at_utc_us) {
  const auto record = record_file(folder);
  const auto next = folder / "record.next.sqlite3";
  try {
    const auto sealed = seal_whole(folder);
    if (!sealed) return sealed.problem();
    const auto lock = WriterLock::take(folder);
    if (!lock) return lock.problem();
    drop_second_names(record);
    const auto part = close_file(record, sealed.value());
    if (!part) return part.problem();
    const auto& closed = part.value();
    const auto first = period_closed(closed.first_sequence, closed.last_sequence, hex(closed.head),
                                     closed.file, actor, at_utc_us);
    if (const auto problem = make_next(next, record, closed, first)) return *problem;
    const auto file = archive_folder(record) / closed.file;
    if (const auto problem = change_over(record, next, file)) return *problem;
    return ClosedPeriod{file, closed.first_sequence, closed.last_sequence, hex(closed.head)};
  } catch (const SQLite::Exception& error) {
    return problem_of(error, record);
  }
}

}  // namespace shankwright::record
