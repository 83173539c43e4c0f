#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"
#include "record/number_sets.hpp"

namespace shankwright::record {

/// Numbers in ascending order, asked for one after the other.
class Numbers {
 public:
  virtual ~Numbers() = default;
  /// The first at `from` or after, no_number without one. `from` never goes back.
  [[nodiscard]] virtual std::int64_t next(std::int64_t from) = 0;
};

/// What was typed as expressions of FTS5, one for each word: each in quotes, so that nothing in it is syntax,
/// the last one also as the beginning of a word. Control characters part words like spaces do.
[[nodiscard]] std::vector<std::string> text_expressions(std::string_view typed);

/// The running numbers that fit every condition of a filter, from the tables that follow from the entries.
/// Some may be reserved serials without a fitting. The conditions take turns: each passes over what the
/// others have ruled out, so that a search costs what the rarest of them costs. Throws SQLite::Exception, and
/// std::runtime_error for damaged tables.
class FittingNumbers final : public Numbers {
 public:
  FittingNumbers(SQLite::Database& database, const ports::FittingFilter& filter);
  [[nodiscard]] std::int64_t next(std::int64_t from) override;

 private:
  std::vector<std::unique_ptr<Numbers>> conditions_;
};

}  // namespace shankwright::record
