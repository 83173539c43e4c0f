#include "record/fitting_cursor.hpp"

#include "record/statement.hpp"

namespace shankwright::record {

FittingCursor::FittingCursor(SQLite::Database& database, const ports::FittingFilter& filter,
                             std::int64_t after_number)
    : numbers_(database, filter),
      rows_(database,
            "SELECT number, serial, recipe_id, job, operator_id, rope_lot, terminal_lot, die_pair_id, stage, "
            "verdict,"
            " recipe_revision, started_utc_us, changed_utc_us FROM fitting_index"
            " WHERE number >= ? ORDER BY number"),
      after_(after_number) {}

// Walking over a few rows costs less than looking for one.
bool FittingCursor::row_at_or_after(std::int64_t number) {
  constexpr int steps_before_search = 8;
  for (int step = 0; begun_ && current_ < number && step < steps_before_search; ++step) {
    if (!rows_.executeStep()) return false;
    current_ = rows_.getColumn(0).getInt64();
  }
  if (begun_ && current_ >= number) return true;
  rows_.reset();
  rows_.bind(1, number);
  begun_ = true;
  if (!rows_.executeStep()) return false;
  current_ = rows_.getColumn(0).getInt64();
  return true;
}

bool FittingCursor::next() {
  auto wanted = numbers_.next(after_ + 1);
  while (wanted != no_number) {
    if (!row_at_or_after(wanted)) return false;
    if (current_ == wanted) {
      after_ = current_;
      return true;
    }
    wanted = numbers_.next(current_);
  }
  return false;
}

void FittingCursor::read(ports::FittingRow& row) {
  int column = 1;
  const auto next_text = [&](std::string& text) { text = bytes_in(rows_.getColumn(column++)); };
  for (auto* text : {&row.serial, &row.recipe_id, &row.job, &row.operator_id, &row.rope_lot,
                     &row.terminal_lot, &row.die_pair_id, &row.stage, &row.verdict})
    next_text(*text);
  row.recipe_revision = rows_.getColumn(column++).getUInt();
  row.started_utc_us = rows_.getColumn(column++).getInt64();
  row.changed_utc_us = rows_.getColumn(column).getInt64();
}

}  // namespace shankwright::record
