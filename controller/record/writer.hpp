#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "record/chain.hpp"
#include "record/connection.hpp"
#include "record/index.hpp"

namespace shankwright::record {

/// Where the chain ends.
struct Head {
  std::int64_t sequence = 0;
  Hash hash{};
};

/// The statements that write, prepared once. One thread at a time; no transaction is begun here and
/// everything throws SQLite::Exception.
class Writer {
 public:
  explicit Writer(SQLite::Database& database);

  [[nodiscard]] Head newest();
  [[nodiscard]] std::int64_t newest_serial_number();
  [[nodiscard]] std::int64_t newest_instant();  ///< of the newest entry; 0 without one

  /// Appends one entry after `head`, with its trace, and lets the index follow. Returns the new head.
  [[nodiscard]] Head append(const Head& head, const ports::NewEntry& entry, const std::string& opening_json);

  /// Keeps a document unless its content is there already; returns its hash.
  Hash keep_document(const std::string& content);

  [[nodiscard]] Index& index() { return index_; }

 private:
  SQLite::Database& database_;
  SQLite::Statement entry_, trace_, document_;
  Index index_;
};

}  // namespace shankwright::record
