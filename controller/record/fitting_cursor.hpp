#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>

#include "ports/ports.hpp"
#include "record/search.hpp"

namespace shankwright::record {

/// The fittings that fit a filter, one after the other in the order in which their serials were given,
/// without state and recipe. The filter's limit and after_serial are not looked at. Throws SQLite::Exception,
/// and std::runtime_error for damaged tables.
class FittingCursor {
 public:
  FittingCursor(SQLite::Database& database, const ports::FittingFilter& filter, std::int64_t after_number);

  /// Moves on; false behind the last.
  bool next();
  [[nodiscard]] std::int64_t number() const { return current_; }
  /// Puts the fitting the cursor stands on in place of the row's content, whose memory is used again.
  void read(ports::FittingRow& row);

 private:
  bool row_at_or_after(std::int64_t number);

  FittingNumbers numbers_;
  SQLite::Statement rows_;
  std::int64_t after_;
  std::int64_t current_ = -1;
  bool begun_ = false;
};

}  // namespace shankwright::record
