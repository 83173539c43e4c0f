#include <fmt/format.h>

#include <algorithm>

#include "record/integrity.hpp"
#include "record/schema.hpp"
#include "record/store_parts.hpp"

namespace shankwright::record {

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
  std::error_code error;
  if (const auto bytes = std::filesystem::file_size(file, error);
      !error && bytes <= options.check_file_up_to_bytes) {
    if (auto damage = check_file(*write_connection)) return damage;
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
  if (auto problem = find_key()) return problem;
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

}  // namespace shankwright::record
