#include "record/store.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <iterator>
#include <limits>
#include <mutex>
#include <stdexcept>
#include <utility>

#include "record/archive.hpp"
#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/fitting_cursor.hpp"
#include "record/heads_file.hpp"
#include "record/key_folder.hpp"
#include "record/part_files.hpp"
#include "record/reader.hpp"
#include "record/schema.hpp"
#include "record/serial.hpp"
#include "record/state_patch.hpp"
#include "record/trace_codec.hpp"
#include "record/writer.hpp"

namespace shankwright::record {
namespace {

constexpr auto unknown_serial_place = "serial";

Problem unknown_serial(std::string found) {
  return {unknown_serial_place, std::move(found), "the serial of a fitting in this record"};
}

// Kinds of entry that only this folder writes.
bool own_kind(const std::string& kind) {
  return kind == serial_kind || kind == seal_kind || kind == seal_key_kind || kind == archive_kind;
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
  mutable std::mutex writing, reading, trouble_mutex;
  std::unique_ptr<SQLite::Database> write_connection, read_connection;
  mutable std::unique_ptr<FittingLookup> lookup;  // on the connection for reading
  std::unique_ptr<Writer> writer;
  struct Ends {
    Head head;
    std::int64_t serial_number = 0;
  } ends;  // of what is durable
  std::optional<Problem> in_doubt, heads_trouble;
  std::optional<PublicKey> key_named;  // by the record, as the one that seals now
  std::shared_ptr<SigningKey> key;     // loaded when first needed
  HeadsFile heads;
  mutable PartFiles part_files;
  bool filling = false;
  std::unique_ptr<Transaction> batch;  // of steps not yet committed; only while filling
  int batch_steps = 0;

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
      if (filling) return fill(work);
      Transaction transaction(*write_connection);
      auto moved = ends;
      auto result = work(moved);
      if (!result.ok()) return result;
      transaction.commit();
      ends = moved;
      return result;
    } catch (const SQLite::Exception& error) {
      const auto problem = problem_of(error, file);
      if (filling || disk_in_doubt(error)) in_doubt = problem;
      batch.reset();
      return problem;
    } catch (const std::logic_error&) {
      throw;  // our own mistake
    } catch (const std::exception& error) {
      return Problem{file.string(), error.what(), "a record as the station wrote it"};
    }
  }

  // Thousands of steps to a transaction. Where one fails the record is not worth keeping.
  template <typename Work>
  auto fill(const Work& work) -> decltype(work(ends)) {
    constexpr int most_steps = 20'000;
    if (!batch) batch = std::make_unique<Transaction>(*write_connection);
    auto result = work(ends);
    if (!result.ok()) {
      in_doubt = result.problem();
      batch.reset();
    } else if (++batch_steps >= most_steps) {
      end_batch();
    }
    return result;
  }
  void end_batch() {
    if (batch) batch->commit();
    batch.reset();
    batch_steps = 0;
  }

  template <typename Work>
  auto read(const Work& work) const -> Result<decltype(work(*read_connection))> {
    const std::lock_guard guard(reading);
    try {
      return work(*read_connection);
    } catch (const SQLite::Exception& error) {
      return problem_of(error, file);
    } catch (const std::runtime_error& error) {
      return Problem{file.string(), error.what(), "the whole record, its closed files too"};
    }
  }

  Result<std::shared_ptr<SigningKey>> signing_key(Ends& moved, std::int64_t at_utc_us);
  Result<std::int64_t> append(Ends& moved, const std::vector<ports::NewEntry>& entries);
  void seal(Ends& moved, const SigningKey& with, const std::string& why, std::int64_t at_utc_us);
  void export_heads();
  void remember_key(const std::shared_ptr<SigningKey>& durable) {
    const std::lock_guard guard(writing);
    key_named = durable->public_key();
    key = durable;
  }
  std::optional<Problem> find_key();
  std::vector<PackedEntry> packed_entries(SQLite::Database& live, const std::string& serial,
                                          bool with_traces);

  std::optional<Problem> check_and_prepare(const StoreOptions& options);
};

std::optional<Problem> SqliteStore::Parts::check_and_prepare(const StoreOptions& options) {
  write_connection = connect_writer(file);
  const auto rebuild = [&] {
    part_files = PartFiles(*write_connection, file);
    Index index(*write_connection);
    index.clear();
    for (const auto& part : part_files.parts()) (void)index.apply_all(part_files.open(part));
    (void)index.apply_all(*write_connection);
  };
  if (const auto version = bring_up_to_date(*write_connection, schema_steps(), rebuild); !version.ok())
    return version.problem();
  part_files = PartFiles(*write_connection, file);
  if (options.check_file) {
    if (const auto damage = check_file(*write_connection)) return damage;
  }
  if (options.most_pages) write_connection->exec(fmt::format("PRAGMA max_page_count={}", options.most_pages));
  filling = options.fill_without_safety;
  if (filling)
    write_connection->exec("PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF; PRAGMA cache_size=-524288;");
  writer = std::make_unique<Writer>(*write_connection);
  ends = {writer->newest(), writer->newest_serial_number()};
  const auto first = std::max<std::int64_t>(1, ends.head.sequence - options.tail_entries + 1);
  if (const auto report = record::check_chain(*write_connection, first); report.broken)
    return Problem{
        file.string(),
        fmt::format("a broken chain at entry {}: {}", report.broken->sequence, report.broken->what),
        "a record as the station wrote it; keep this file as it is and call the person in charge of records"};
  read_connection = connect_reader(file);
  if (const auto problem = find_key()) return problem;
  if (options.heads_file.empty()) return std::nullopt;
  auto opened = HeadsFile::open(options.heads_file);
  if (!opened) return opened.problem();
  heads = std::move(opened).value();
  if (heads.newest_sequence() > ends.head.sequence)
    return Problem{
        file.string(),
        fmt::format("a record that ends at entry {}, while {} holds a seal over entry {}", ends.head.sequence,
                    options.heads_file.string(), heads.newest_sequence()),
        "the newest record: this one is older than it was, or its end was cut off. Where it was restored "
        "from a copy on purpose, keep that file and name another"};
  export_heads();
  return std::nullopt;
}

// The newest change of key, wherever it lies.
std::optional<Problem> SqliteStore::Parts::find_key() {
  std::optional<ports::NewEntry> newest;
  const auto look = [&](SQLite::Database& database) {
    for (auto& found : read_entries_of_kind(database, std::string(seal_key_kind), 0))
      newest = std::move(found.entry);
  };
  try {
    part_files.each(*write_connection, 1, ends.head.sequence, look);
  } catch (const std::runtime_error& error) {
    return Problem{file.string(), error.what(), "the whole record, its closed files too"};
  }
  if (!newest) return std::nullopt;
  const auto change = read_key_change(*newest);
  if (!change) return change.problem();
  key_named = change.value().key;
  return std::nullopt;
}

Result<std::shared_ptr<SigningKey>> SqliteStore::Parts::signing_key(Ends& moved, std::int64_t at_utc_us) {
  const auto folder = file.parent_path();
  if (key_named) {
    if (key) return key;
    auto loaded = load_key(folder, *key_named);
    if (loaded) key = loaded.value();
    return loaded;
  }
  auto made = make_key(folder);
  if (!made) return made.problem();
  moved.head = writer->append(moved.head, key_made(made.value()->public_key(), at_utc_us), "");
  return made;
}

void SqliteStore::Parts::seal(Ends& moved, const SigningKey& with, const std::string& why,
                              std::int64_t at_utc_us) {
  moved.head =
      writer->append(moved.head, seal_entry(with, moved.head.sequence, moved.head.hash, why, at_utc_us), "");
}

// After a seal is durable. A second place that is away for a while stops no work: it is caught up with later.
void SqliteStore::Parts::export_heads() {
  const std::lock_guard guard(writing);  // by the writer's connection: a long read must not hold up a release
  if (!heads.kept()) return;
  std::optional<Problem> trouble;
  try {
    trouble = heads.catch_up(*write_connection);
  } catch (const SQLite::Exception& error) {
    trouble = problem_of(error, file);
  }
  const std::lock_guard telling(trouble_mutex);
  heads_trouble = std::move(trouble);
}

// Every file that holds entries about the serial, oldest first, with whole states in place of stored changes.
std::vector<PackedEntry> SqliteStore::Parts::packed_entries(SQLite::Database& live, const std::string& serial,
                                                            bool with_traces) {
  std::vector<PackedEntry> out;
  const auto add = [&](SQLite::Database& database) {
    auto found = read_entries(database, serial, with_traces);
    std::move(found.begin(), found.end(), std::back_inserter(out));
  };
  const auto range = serial.empty() ? std::nullopt : read_entry_range(live, serial);
  if (range)
    part_files.each(live, range->opened, range->last, add);
  else
    part_files.each(live, 1, std::numeric_limits<std::int64_t>::max(), add);
  std::string state;
  for (auto& packed : out) {
    auto& text = packed.stored.entry.state_json;
    if (text.empty() || serial.empty()) continue;
    state = state_after(state, text);
    text = state;
  }
  return out;
}

Result<std::int64_t> SqliteStore::Parts::append(Ends& moved, const std::vector<ports::NewEntry>& entries) {
  for (const auto& entry : entries) {
    if (own_kind(entry.kind)) throw std::logic_error("an entry of a kind that only the record itself writes");
    if (!entry.serial.empty() && !writer->index().serial_is_reserved(entry.serial))
      return unknown_serial(fmt::format("an entry about \"{}\", a serial never given", entry.serial));
    moved.head = writer->append(moved.head, entry, "");
  }
  return moved.head.sequence;
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
  std::error_code error;
  parts->file = std::filesystem::is_regular_file(folder, error) ? folder : record_file(folder);
  if (!std::filesystem::exists(parts->file, error))
    return Problem{folder.string(), "no record", "a data folder in which a station has kept its record"};
  try {
    parts->read_connection = connect_reader(parts->file);
    if (const auto version = expect_version(*parts->read_connection, schema_steps()); !version.ok())
      return version.problem();
    parts->part_files = PartFiles(*parts->read_connection, parts->file);
  } catch (const SQLite::Exception& failure) {
    return problem_of(failure, parts->file);
  }
  return std::shared_ptr<SqliteStore>(new SqliteStore(std::move(parts)));
}

Result<std::int64_t> SqliteStore::append(const std::vector<ports::NewEntry>& entries) {
  return parts_->write([&](Parts::Ends& ends) { return parts_->append(ends, entries); });
}

Result<std::int64_t> SqliteStore::append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                  const std::string& why) {
  std::shared_ptr<SigningKey> key;
  auto sealed = parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    const auto appended = parts_->append(ends, entries);
    if (!appended) return appended.problem();
    const auto at_utc_us = entries.empty() ? parts_->writer->newest_instant() : entries.back().at_utc_us;
    const auto found = parts_->signing_key(ends, at_utc_us);
    if (!found) return found.problem();
    key = found.value();
    parts_->seal(ends, *key, why, at_utc_us);
    return appended;
  });
  if (!sealed) return sealed;
  parts_->remember_key(key);
  parts_->export_heads();
  return sealed;
}

std::optional<Problem> SqliteStore::heads_trouble() const {
  const std::lock_guard guard(parts_->trouble_mutex);
  return parts_->heads_trouble;
}

Result<PublicKey> SqliteStore::rotate_key(const std::string& actor, const std::string& reason,
                                          std::int64_t at_utc_us, bool old_key_lost) {
  if (!parts_->key_named)
    return Problem{parts_->file.string(), "a record that has never been sealed",
                   "a record with a signing key"};
  const auto old_public = *parts_->key_named;
  std::shared_ptr<SigningKey> made;
  const auto rotated = parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    std::shared_ptr<SigningKey> old_key;
    if (!old_key_lost) {
      const auto found = parts_->signing_key(ends, at_utc_us);
      if (!found) return found.problem();
      old_key = found.value();
      parts_->seal(ends, *old_key, "key_change", at_utc_us);
    }
    auto fresh = make_key(parts_->file.parent_path());
    if (!fresh) return fresh.problem();
    made = fresh.value();
    ends.head = parts_->writer->append(
        ends.head, key_rotated(*made, old_key.get(), old_public, reason, actor, at_utc_us), "");
    parts_->seal(ends, *made, "key_change", at_utc_us);
    return ends.head.sequence;
  });
  if (!rotated) return rotated.problem();
  parts_->remember_key(made);
  parts_->export_heads();
  if (const auto problem = drop_other_secrets(parts_->file.parent_path(), made->public_key()))
    return *problem;
  return made->public_key();
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

Result<std::int64_t> SqliteStore::each_fitting(
    const ports::FittingFilter& filter, const std::function<bool(const ports::FittingRow&)>& visit) const {
  // Now and then a fresh look: a reader that takes its time must not keep the journal from being written
  // back.
  constexpr int rows_a_look = 20'000;
  std::int64_t after = 0, visited = 0;
  try {
    const auto connection = connect_reader(parts_->file);
    ports::FittingRow row;
    for (bool more = true; more;) {
      FittingCursor cursor(*connection, filter, after);
      more = false;
      for (int looked = 0; looked < rows_a_look && cursor.next(); ++looked) {
        cursor.read(row);
        ++visited;
        if (!visit(row)) return visited;
        after = cursor.number();
        more = looked + 1 == rows_a_look;
      }
    }
  } catch (const SQLite::Exception& error) {
    return problem_of(error, parts_->file);
  } catch (const std::runtime_error& error) {
    return Problem{parts_->file.string(), error.what(), "a record whose index follows from its entries"};
  }
  return visited;
}

std::optional<Problem> SqliteStore::finish_filling() {
  const std::lock_guard guard(parts_->writing);
  if (!parts_->filling || parts_->in_doubt) return parts_->in_doubt;
  try {
    parts_->end_batch();
    parts_->write_connection->exec("INSERT INTO texts (texts) VALUES ('optimize')");
    parts_->write_connection->exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;");
    parts_->filling = false;
    return std::nullopt;
  } catch (const SQLite::Exception& error) {
    return problem_of(error, parts_->file);
  }
}

Result<ports::FittingRow> SqliteStore::fitting(const std::string& typed) const {
  const auto serial = written_as(typed);
  const auto row = parts_->read([&](SQLite::Database& database) {
    if (!parts_->lookup) parts_->lookup = std::make_unique<FittingLookup>(database);
    return parts_->lookup->find(serial);
  });
  if (!row.ok()) return row.problem();
  if (row.value()) return *row.value();
  const auto reserved =
      parts_->read([&](SQLite::Database& database) { return serial_is_reserved(database, serial); });
  if (!reserved.ok()) return reserved.problem();
  if (reserved.value()) return unknown_serial(fmt::format("{}, given but never begun", serial));
  return unknown_serial(fmt::format("\"{}\"", typed));
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries(const std::string& typed,
                                                             bool with_traces) const {
  const auto packed = parts_->read(
      [&](SQLite::Database& live) { return parts_->packed_entries(live, written_as(typed), with_traces); });
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

Result<ports::Seal> SqliteStore::seal_over(const std::string& typed) const {
  const auto row = fitting(typed);
  if (!row) return row.problem();
  const auto seal = parts_->read([&](SQLite::Database& live) {
    const auto range = read_entry_range(live, row.value().serial);
    std::optional<ports::StoredEntry> found;
    const auto look = [&](SQLite::Database& database) {
      if (!found) found = read_first_of_kind_after(database, std::string(seal_kind), range->last);
    };
    parts_->part_files.each(live, range->last, std::numeric_limits<std::int64_t>::max(), look);
    return found;
  });
  if (!seal) return seal.problem();
  if (!seal.value())
    return Problem{
        "seal", "no seal over the newest entry about " + row.value().serial,
        "a sealed record: the station seals at every release, at the end of a shift and when it stops"};
  return read_seal(seal.value()->entry);
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries_of_kind(const std::string& kind,
                                                                     std::int64_t after_sequence) const {
  return parts_->read([&](SQLite::Database& live) {
    std::vector<ports::StoredEntry> out;
    const auto add = [&](SQLite::Database& database) {
      auto found = read_entries_of_kind(database, kind, after_sequence);
      std::move(found.begin(), found.end(), std::back_inserter(out));
    };
    parts_->part_files.each(live, after_sequence + 1, std::numeric_limits<std::int64_t>::max(), add);
    return out;
  });
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

Result<std::vector<std::string>> SqliteStore::serials_near(const std::string& typed) const {
  return parts_->read([&](SQLite::Database& database) { return read_serials_near(database, typed); });
}

Result<std::vector<std::string>> SqliteStore::serials() const {
  return parts_->read([](SQLite::Database& database) { return read_serials(database); });
}

Result<ChainReport> SqliteStore::check_chain(std::int64_t first) const {
  return parts_->read([&](SQLite::Database& database) { return record::check_chain(database, first); });
}

Result<std::int64_t> SqliteStore::rebuild_index() {
  return parts_->write([&](Parts::Ends&) -> Result<std::int64_t> {
    auto& index = parts_->writer->index();
    index.clear();
    std::int64_t applied = 0;
    // The live file by the writing connection: no reader would see what this transaction has cleared.
    parts_->part_files.each(*parts_->write_connection, 1, std::numeric_limits<std::int64_t>::max(),
                            [&](SQLite::Database& database) { applied += index.apply_all(database); });
    return applied;
  });
}

}  // namespace shankwright::record
