#include "record/search.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

#include "record/index.hpp"
#include "record/serial_ranges.hpp"
#include "record/statement.hpp"

namespace shankwright::record {
namespace {

class InSets final : public Numbers {
 public:
  InSets(SQLite::Database& database, const std::vector<std::pair<std::string_view, std::string>>& terms)
      : common_(database, terms) {}
  std::int64_t next(std::int64_t from) override { return common_.next(from); }

 private:
  CommonNumbers common_;
};

class InRanges final : public Numbers {
 public:
  explicit InRanges(std::vector<NumberRange> ranges) : ranges_(std::move(ranges)) {}
  std::int64_t next(std::int64_t from) override {
    for (const auto& range : ranges_)
      if (from <= range.last) return std::max(from, range.first);
    return no_number;
  }

 private:
  std::vector<NumberRange> ranges_;
};

// Numbers follow the clock but for its corrections: blocks of numbers know their earliest and latest start,
// and only in a block that an end of the time falls into are rows looked at.
class InTime final : public Numbers {
 public:
  InTime(SQLite::Database& database, std::optional<std::int64_t> from, std::optional<std::int64_t> until)
      : from_(from.value_or(std::numeric_limits<std::int64_t>::min())),
        until_(until.value_or(std::numeric_limits<std::int64_t>::max())),
        row_(database,
             "SELECT number FROM fitting_index WHERE number BETWEEN ? AND ? AND started_utc_us >= ?"
             " AND started_utc_us < ? ORDER BY number LIMIT 1") {
    SQLite::Statement blocks(database,
                             "SELECT block, least_utc_us, most_utc_us FROM start_blocks"
                             " WHERE most_utc_us >= ? AND least_utc_us < ? ORDER BY block");
    blocks.bind(1, from_);
    blocks.bind(2, until_);
    while (blocks.executeStep())
      blocks_.push_back({blocks.getColumn(0).getInt64(),
                         blocks.getColumn(1).getInt64() >= from_ && blocks.getColumn(2).getInt64() < until_});
  }

  std::int64_t next(std::int64_t from) override {
    for (; at_ < blocks_.size(); ++at_) {
      const auto& block = blocks_[at_];
      const auto first = std::max(from, block.number * start_block_numbers);
      const auto last = block.number * start_block_numbers + start_block_numbers - 1;
      if (first > last) continue;
      if (block.whole) return first;
      const Reset reset{row_};
      row_.bind(1, first);
      row_.bind(2, last);
      row_.bind(3, from_);
      row_.bind(4, until_);
      if (row_.executeStep()) return row_.getColumn(0).getInt64();
    }
    return no_number;
  }

 private:
  struct Block {
    std::int64_t number;
    bool whole;
  };
  std::int64_t from_, until_;
  SQLite::Statement row_;
  std::vector<Block> blocks_;
  std::size_t at_ = 0;
};

class WithWord final : public Numbers {
 public:
  WithWord(SQLite::Database& database, std::string expression)
      : expression_(std::move(expression)),
        rows_(database, "SELECT rowid FROM texts WHERE texts MATCH ? AND rowid >= ? ORDER BY rowid") {}

  std::int64_t next(std::int64_t from) override {
    constexpr int steps_before_search = 16;
    for (int step = 0; begun_ && current_ < from && step < steps_before_search; ++step) advance();
    if (!begun_ || current_ < from) {
      rows_.reset();
      rows_.bind(1, expression_);
      rows_.bind(2, from << text_bits);
      begun_ = true;
      advance();
    }
    return current_;
  }

 private:
  void advance() { current_ = rows_.executeStep() ? rows_.getColumn(0).getInt64() >> text_bits : no_number; }

  std::string expression_;
  SQLite::Statement rows_;
  bool begun_ = false;
  std::int64_t current_ = 0;
};

bool parts_words(char character) {
  return static_cast<unsigned char>(character) <= ' ' || character == 0x7f;
}

// Punctuation alone is no word. What is beyond ASCII may be.
bool holds_letters(std::string_view word) {
  return std::any_of(word.begin(), word.end(), [](char character) {
    const auto byte = static_cast<unsigned char>(character);
    return byte >= 0x80 || (byte >= '0' && byte <= '9') || (byte >= 'a' && byte <= 'z') ||
           (byte >= 'A' && byte <= 'Z');
  });
}

}  // namespace

std::vector<std::string> text_expressions(std::string_view typed) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < typed.size();) {
    const auto first =
        std::find_if_not(typed.begin() + static_cast<std::ptrdiff_t>(at), typed.end(), parts_words);
    const auto last = std::find_if(first, typed.end(), parts_words);
    at = static_cast<std::size_t>(last - typed.begin());
    const std::string_view word(first, last);
    if (!holds_letters(word)) continue;
    std::string quoted = "\"";
    for (const char character : word)
      quoted += character == '"' ? std::string("\"\"") : std::string(1, character);
    out.push_back(quoted + '"');
  }
  if (!out.empty()) out.back() += " *";
  return out;
}

FittingNumbers::FittingNumbers(SQLite::Database& database, const ports::FittingFilter& filter) {
  std::vector<std::pair<std::string_view, std::string>> terms;
  for (const auto& [name, value] : std::initializer_list<std::pair<std::string_view, const std::string&>>{
           {field::recipe, filter.recipe_id},
           {field::job, filter.job},
           {field::actor, filter.operator_id},
           {field::rope_lot, filter.rope_lot},
           {field::terminal_lot, filter.terminal_lot},
           {field::die_pair, filter.die_pair_id},
           {field::verdict, filter.verdict},
           {field::gauge, filter.gauge_id},
           {field::finding, filter.finding_code}})
    if (!value.empty()) terms.emplace_back(name, value);
  if (!terms.empty()) conditions_.push_back(std::make_unique<InSets>(database, terms));
  if (!filter.serial_prefix.empty())
    conditions_.push_back(std::make_unique<InRanges>(numbers_beginning(filter.serial_prefix)));
  if (filter.from_utc_us || filter.until_utc_us)
    conditions_.push_back(std::make_unique<InTime>(database, filter.from_utc_us, filter.until_utc_us));
  if (filter.text.empty()) return;
  auto words = text_expressions(filter.text);
  if (words.empty()) conditions_.push_back(std::make_unique<InRanges>(std::vector<NumberRange>{}));
  for (auto& word : words) conditions_.push_back(std::make_unique<WithWord>(database, std::move(word)));
}

std::int64_t FittingNumbers::next(std::int64_t from) {
  for (std::size_t agreed = 0; agreed < conditions_.size();) {
    for (auto& condition : conditions_) {
      const auto found = condition->next(from);
      if (found == no_number) return no_number;
      agreed = found == from ? agreed + 1 : 1;
      from = found;
      if (agreed >= conditions_.size()) break;
    }
  }
  return from;
}

}  // namespace shankwright::record
