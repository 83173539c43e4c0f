#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "record/number_chunk.hpp"

/// Which fittings have what in common: for each value of a field (one job, one gauge, one verdict) the set of
/// running numbers, in the tables `terms` and `number_sets`. Follows from the entries (index.hpp).
namespace shankwright::record {

/// Names of fields, as they stand in the table `terms`.
namespace field {
inline constexpr std::string_view recipe = "recipe", job = "job", actor = "operator", rope_lot = "rope_lot",
                                  terminal_lot = "terminal_lot", die_pair = "die_pair", verdict = "verdict",
                                  gauge = "gauge", finding = "finding";
}

/// Adds and takes away, in the caller's transaction. Throws SQLite::Exception, and std::runtime_error for
/// damaged tables.
class NumberSets {
 public:
  explicit NumberSets(SQLite::Database& database);

  void insert(std::string_view field, const std::string& value, std::int64_t number);
  void erase(std::string_view field, const std::string& value, std::int64_t number);
  void clear();

 private:
  std::int64_t term(std::string_view field, const std::string& value);
  NumberChunk chunk(std::int64_t term, std::int64_t number);
  void keep(std::int64_t term, std::int64_t number, const NumberChunk& chunk);

  SQLite::Database& database_;
  SQLite::Statement term_, new_term_, chunk_, keep_, drop_;
};

/// Where there is no further number.
inline constexpr std::int64_t no_number = std::numeric_limits<std::int64_t>::max();

/// What several sets have in common, in ascending order.
class CommonNumbers {
 public:
  /// Fields with their values; without any, every number. An unknown value has an empty set.
  CommonNumbers(SQLite::Database& database,
                const std::vector<std::pair<std::string_view, std::string>>& terms);

  [[nodiscard]] std::int64_t next(
      std::int64_t from);  ///< the first at `from` or after; no_number without one

 private:
  bool load(std::int64_t& chunk);

  std::vector<SQLite::Statement> sets_;
  bool empty_ = false;
  std::int64_t loaded_ = -1;
  NumberChunk common_;
};

}  // namespace shankwright::record
