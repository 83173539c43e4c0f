#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <string_view>

namespace shankwright::record {

/// SQLite keeps a statement's locks until it is reset, and a failed step leaves it unreset.
struct Reset {
  SQLite::Statement& statement;
  ~Reset() { (void)statement.tryReset(); }
};

/// Looked at where the statement has it: good until the next step.
inline std::string_view bytes_in(const SQLite::Column& column) {
  return {static_cast<const char*>(column.getBlob()), static_cast<std::size_t>(column.getBytes())};
}

}  // namespace shankwright::record
