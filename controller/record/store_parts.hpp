#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/fitting_cursor.hpp"
#include "record/heads_file.hpp"
#include "record/key_folder.hpp"
#include "record/part_files.hpp"
#include "record/reader.hpp"
#include "record/store.hpp"
#include "record/writer.hpp"

/// What a SqliteStore is made of. Opening, writing and reading are one file each (store_*.cpp).
namespace shankwright::record {

inline constexpr auto unknown_serial_place = "serial";
[[nodiscard]] inline Problem unknown_serial(std::string found) {
  return {unknown_serial_place, std::move(found), "the serial of a fitting in this record"};
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

}  // namespace shankwright::record
