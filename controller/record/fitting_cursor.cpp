#include "record/fitting_cursor.hpp"

#include "record/statement.hpp"

namespace shankwright::record {

FittingCursor::FittingCursor(SQLite::Database& database, const ports::FittingFilter& filter,
                             std::int64_t after_number)
    : numbers_(database, filter),
      rows_(database,
            "SELECT number, serial, recipe_id, recipe_revision, job, operator_id, rope_lot, terminal_lot,"
            " die_pair_id, stage, verdict, started_utc_us, changed_utc_us FROM fitting_index"
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

std::int64_t FittingCursor::number() {
  return current_;
}

FittingCursor::Row FittingCursor::row() {
  const auto text = [&](int column) { return bytes_in(rows_.getColumn(column)); };
  Row out;
  out.serial = text(1);
  out.recipe_id = text(2);
  out.recipe_revision = rows_.getColumn(3).getUInt();
  out.job = text(4);
  out.operator_id = text(5);
  out.rope_lot = text(6);
  out.terminal_lot = text(7);
  out.die_pair_id = text(8);
  out.stage = text(9);
  out.verdict = text(10);
  out.started_utc_us = rows_.getColumn(11).getInt64();
  out.changed_utc_us = rows_.getColumn(12).getInt64();
  return out;
}

}  // namespace shankwright::record
