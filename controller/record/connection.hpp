#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <memory>

#include "quantity/result.hpp"

/// How the record's file is opened, and what SQLite's errors mean to a person.
namespace shankwright::record {

/// The writer: WAL journal, every commit on the disk before it returns (synchronous=FULL), foreign keys on,
/// readers waited for up to 5 s. What an earlier process left in the journal is put on the disk for certain
/// first. Throws SQLite::Exception.
[[nodiscard]] std::unique_ptr<SQLite::Database> connect_writer(const std::filesystem::path& file);

/// A reader beside the writer, or alone. A closed record on a disk that cannot be written to is read as it
/// stands. For one thread at a time: SQLite's own locks are left out. Throws SQLite::Exception.
[[nodiscard]] std::unique_ptr<SQLite::Database> connect_reader(const std::filesystem::path& file);

/// In words, with the record's file as the place.
[[nodiscard]] Problem problem_of(const SQLite::Exception& error, const std::filesystem::path& file);

/// After these nobody knows what the disk holds: writing must not go on until the record has been opened and
/// checked anew. A full disk is not among them: SQLite has taken everything back.
[[nodiscard]] bool disk_in_doubt(const SQLite::Exception& error);

/// All or nothing: takes back what was not committed.
class Transaction {
 public:
  explicit Transaction(SQLite::Database& database);  ///< throws SQLite::Exception
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();  ///< throws SQLite::Exception

 private:
  SQLite::Database& database_;
};

}  // namespace shankwright::record
