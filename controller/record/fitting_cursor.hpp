#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <optional>

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
  [[nodiscard]] std::int64_t number();
  /// The fitting the cursor stands on. The texts are looked at where they are: good until the next move.
  struct Row {
    std::string_view serial, recipe_id, job, operator_id, rope_lot, terminal_lot, die_pair_id, stage, verdict;
    std::uint32_t recipe_revision = 0;
    std::int64_t started_utc_us = 0, changed_utc_us = 0;
  };
  [[nodiscard]] Row row();

 private:
  bool row_at_or_after(std::int64_t number);

  FittingNumbers numbers_;
  SQLite::Statement rows_;
  std::int64_t after_;
  std::int64_t current_ = -1;
  bool begun_ = false;
};

}  // namespace shankwright::record
