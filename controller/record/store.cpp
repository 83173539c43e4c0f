#include "record/store.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <mutex>
#include <stdexcept>
#include <utility>

#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/reader.hpp"
#include "record/schema.hpp"
#include "record/serial.hpp"
#include "record/trace_codec.hpp"
#include "record/writer.hpp"

namespace shankwright::record {
namespace {

constexpr auto unknown_serial_place = "serial";

Problem unknown_serial(std::string found) {
  return {unknown_serial_place, std::move(found), "the serial of a fitting in this record"};
}

std::string written_as(const std::string& typed) {
  const auto number = number_of(typed);
  return number ? serial_of(*number) : typed;
}

}  // namespace

bool is_unknown_serial(const Problem& problem) {
  return problem.place == unknown_serial_place;
}

// Order matters: the lock is let go of after the connections are closed.
struct SqliteStore::Parts {
  std::filesystem::path file;
  std::shared_ptr<WriterLock> lock;  // null for a reader
  mutable std::mutex writing, reading;
  std::unique_ptr<SQLite::Database> write_connection, read_connection;
  std::unique_ptr<Writer> writer;
  struct Ends {
    Head head;
    std::int64_t serial_number = 0;
  } ends;  // of what is durable
  std::optional<Problem> in_doubt;

  // Runs `work` in one transaction under the writing lock; what it returns is durable when this returns. It
  // moves the ends that it is given, which become the record's own only then.
  template <typename Work>
  auto write(const Work& work) -> decltype(work(ends)) {
    const std::lock_guard guard(writing);
    if (!writer)
      return Problem{file.string(), "a record opened for reading",
                     "the station's own connection for writing"};
    if (in_doubt) return *in_doubt;
    try {
      Transaction transaction(*write_connection);
      auto moved = ends;
      auto result = work(moved);
      if (!result.ok()) return result;
      transaction.commit();
      ends = moved;
      return result;
    } catch (const SQLite::Exception& error) {
      const auto problem = problem_of(error, file);
      if (disk_in_doubt(error)) in_doubt = problem;
      return problem;
    } catch (const std::logic_error&) {
      throw;  // our own mistake
    } catch (const std::exception& error) {
      return Problem{file.string(), error.what(), "a record as the station wrote it"};
    }
  }

  template <typename Work>
  auto read(const Work& work) const -> Result<decltype(work(*read_connection))> {
    const std::lock_guard guard(reading);
    try {
      return work(*read_connection);
    } catch (const SQLite::Exception& error) {
      return problem_of(error, file);
    }
  }

  std::optional<Problem> check_and_prepare(const StoreOptions& options);
};

std::optional<Problem> SqliteStore::Parts::check_and_prepare(const StoreOptions& options) {
  write_connection = connect_writer(file);
  if (const auto version = bring_up_to_date(*write_connection, schema_steps()); !version.ok())
    return version.problem();
  if (options.check_file) {
    if (const auto damage = check_file(*write_connection)) return damage;
  }
  if (options.most_pages) write_connection->exec(fmt::format("PRAGMA max_page_count={}", options.most_pages));
  writer = std::make_unique<Writer>(*write_connection);
  ends = {writer->newest(), writer->newest_serial_number()};
  const auto first = std::max<std::int64_t>(1, ends.head.sequence - options.tail_entries + 1);
  if (const auto report = record::check_chain(*write_connection, first); report.broken)
    return Problem{
        file.string(),
        fmt::format("a broken chain at entry {}: {}", report.broken->sequence, report.broken->what),
        "a record as the station wrote it; keep this file as it is and call the person in charge of records"};
  read_connection = connect_reader(file);
  return std::nullopt;
}

SqliteStore::SqliteStore(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}
SqliteStore::~SqliteStore() = default;

Result<std::shared_ptr<SqliteStore>> SqliteStore::open(const std::filesystem::path& folder,
                                                       const StoreOptions& options) {
  const auto made = make_data_folder(folder);
  if (!made.ok()) return made.problem();
  const auto lock = WriterLock::take(made.value());
  if (!lock.ok()) return lock.problem();
  auto parts = std::make_unique<Parts>();
  parts->file = record_file(made.value());
  parts->lock = lock.value();
  try {
    if (const auto problem = parts->check_and_prepare(options)) return *problem;
  } catch (const SQLite::Exception& error) {
    return problem_of(error, parts->file);
  }
  return std::shared_ptr<SqliteStore>(new SqliteStore(std::move(parts)));
}

Result<std::shared_ptr<SqliteStore>> SqliteStore::open_to_read(const std::filesystem::path& folder) {
  auto parts = std::make_unique<Parts>();
  parts->file = record_file(folder);
  std::error_code error;
  if (!std::filesystem::exists(parts->file, error))
    return Problem{folder.string(), "no record", "a data folder in which a station has kept its record"};
  try {
    parts->read_connection = connect_reader(parts->file);
    if (const auto version = expect_version(*parts->read_connection, schema_steps()); !version.ok())
      return version.problem();
  } catch (const SQLite::Exception& failure) {
    return problem_of(failure, parts->file);
  }
  return std::shared_ptr<SqliteStore>(new SqliteStore(std::move(parts)));
}

Result<std::int64_t> SqliteStore::append(const std::vector<ports::NewEntry>& entries) {
  return parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    for (const auto& entry : entries) {
      if (entry.kind == serial_kind) throw std::logic_error("only reserve_serial() reserves serials");
      if (!entry.serial.empty() && !parts_->writer->index().serial_is_reserved(entry.serial))
        return unknown_serial(fmt::format("an entry about \"{}\", a serial never given", entry.serial));
      ends.head = parts_->writer->append(ends.head, entry, "");
    }
    return ends.head.sequence;
  });
}

Result<std::string> SqliteStore::reserve_serial(std::int64_t at_utc_us) {
  return parts_->write([&](Parts::Ends& ends) -> Result<std::string> {
    auto serial = serial_of(++ends.serial_number);
    ends.head = parts_->writer->append(ends.head, reservation(serial, at_utc_us), "");
    return serial;
  });
}

Result<std::int64_t> SqliteStore::open_fitting(const ports::FittingRow& row, const ports::NewEntry& admit) {
  if (row.serial != admit.serial)
    throw std::logic_error("the first entry belongs to another serial than the fitting");
  return parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    if (!parts_->writer->index().serial_is_reserved(row.serial))
      return unknown_serial(fmt::format("a fitting \"{}\", a serial never given", row.serial));
    const auto document = parts_->writer->keep_document(row.joined_recipe_json);
    const auto opening = opening_json(row, hex(document));
    if (!opening.ok()) return opening.problem();
    auto entry = admit;
    if (entry.stage.empty()) entry.stage = row.stage;
    if (entry.state_json.empty()) entry.state_json = row.state_json;
    ends.head = parts_->writer->append(ends.head, entry, opening.value());
    return ends.head.sequence;
  });
}

Result<std::vector<ports::FittingRow>> SqliteStore::open_fittings() const {
  return parts_->read([](SQLite::Database& database) { return read_open_fittings(database); });
}

Result<std::vector<ports::FittingRow>> SqliteStore::find(const ports::FittingFilter& filter) const {
  const auto after =
      filter.after_serial.empty() ? std::int64_t{0} : number_of(filter.after_serial).value_or(-1);
  if (after < 0)
    return Problem{"after", "\"" + filter.after_serial + "\"", "a whole serial, for example " + serial_of(1)};
  return parts_->read([&](SQLite::Database& database) { return read_fittings(database, filter, after); });
}

Result<ports::FittingRow> SqliteStore::fitting(const std::string& typed) const {
  const auto serial = written_as(typed);
  const auto row = parts_->read([&](SQLite::Database& database) { return read_fitting(database, serial); });
  if (!row.ok()) return row.problem();
  if (row.value()) return *row.value();
  const auto reserved =
      parts_->read([&](SQLite::Database& database) { return read_reservation_utc_us(database, serial); });
  if (!reserved.ok()) return reserved.problem();
  if (reserved.value()) return unknown_serial(fmt::format("{}, given but never begun", serial));
  return unknown_serial(fmt::format("\"{}\"", typed));
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries(const std::string& typed,
                                                             bool with_traces) const {
  const auto packed = parts_->read(
      [&](SQLite::Database& database) { return read_entries(database, written_as(typed), with_traces); });
  if (!packed.ok()) return packed.problem();
  std::vector<ports::StoredEntry> out;
  out.reserve(packed.value().size());
  for (const auto& [stored, trace, trace_hash] : packed.value()) {
    out.push_back(stored);
    if (!with_traces || (trace.empty() && trace_hash.empty())) continue;
    const auto place = fmt::format("{}, entry {}", parts_->file.string(), stored.sequence);
    if (bytes_of(hash_of(trace)) != trace_hash)
      return Problem{place, "a trace that does not match its hash", "the trace as the station wrote it"};
    const auto samples = decode_trace(trace);
    if (!samples.ok()) return Problem{place, samples.problem().found, samples.problem().expected};
    out.back().entry.trace = samples.value();
  }
  return out;
}

Result<std::int64_t> SqliteStore::append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                  const std::string&) {
  return append(entries);
}

Result<ports::Seal> SqliteStore::seal_over(const std::string& serial) const {
  return Problem{"seal", "no seal over " + serial, "a record sealed at every release"};
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries_of_kind(const std::string& kind,
                                                                     std::int64_t after_sequence) const {
  return parts_->read(
      [&](SQLite::Database& database) { return read_entries_of_kind(database, kind, after_sequence); });
}

Result<std::uint64_t> SqliteStore::strokes_of(const std::string& die_pair_id) const {
  return parts_->read([&](SQLite::Database& database) { return read_strokes(database, die_pair_id); });
}

Result<std::uint64_t> SqliteStore::free_bytes() const {
  std::error_code error;
  const auto space = std::filesystem::space(parts_->file.parent_path(), error);
  if (error) return Problem{parts_->file.string(), error.message(), "a disk that says how much room it has"};
  return static_cast<std::uint64_t>(space.available);
}

Result<std::vector<std::string>> SqliteStore::serials() const {
  return parts_->read([](SQLite::Database& database) { return read_serials(database); });
}

Result<ChainReport> SqliteStore::check_chain(std::int64_t first) const {
  return parts_->read([&](SQLite::Database& database) { return record::check_chain(database, first); });
}

Result<std::int64_t> SqliteStore::rebuild_index() {
  return parts_->write(
      [&](Parts::Ends&) -> Result<std::int64_t> { return parts_->writer->index().rebuild(); });
}

}  // namespace shankwright::record
