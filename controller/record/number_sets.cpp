#include "record/number_sets.hpp"

#include <algorithm>
#include <utility>

#include "record/statement.hpp"

namespace shankwright::record {
namespace {

std::size_t offset_of(std::int64_t number) {
  return static_cast<std::size_t>(number % chunk_numbers);
}

void bind_text(SQLite::Statement& statement, int parameter, std::string_view text) {
  statement.bind(parameter, std::string(text));
}

}  // namespace

NumberSets::NumberSets(SQLite::Database& database)
    : database_(database),
      term_(database, "SELECT id FROM terms WHERE field = ? AND value = ?"),
      new_term_(database, "INSERT INTO terms (field, value) VALUES (?, ?)"),
      chunk_(database, "SELECT numbers FROM number_sets WHERE term = ? AND chunk = ?"),
      keep_(database,
            "INSERT INTO number_sets (term, chunk, numbers) VALUES (?, ?, ?)"
            " ON CONFLICT (term, chunk) DO UPDATE SET numbers = excluded.numbers"),
      drop_(database, "DELETE FROM number_sets WHERE term = ? AND chunk = ?") {}

std::int64_t NumberSets::term(std::string_view field, const std::string& value) {
  {
    const Reset reset{term_};
    bind_text(term_, 1, field);
    term_.bindNoCopy(2, value);
    if (term_.executeStep()) return term_.getColumn(0).getInt64();
  }
  const Reset reset{new_term_};
  bind_text(new_term_, 1, field);
  new_term_.bindNoCopy(2, value);
  new_term_.exec();
  return database_.getLastInsertRowid();
}

NumberChunk NumberSets::chunk(std::int64_t term, std::int64_t number) {
  const Reset reset{chunk_};
  chunk_.bind(1, term);
  chunk_.bind(2, number / chunk_numbers);
  return chunk_.executeStep() ? NumberChunk::from_bytes(bytes_in(chunk_.getColumn(0))) : NumberChunk();
}

void NumberSets::keep(std::int64_t term, std::int64_t number, const NumberChunk& chunk) {
  const auto bytes = chunk.bytes();
  auto& statement = bytes.empty() ? drop_ : keep_;
  const Reset reset{statement};
  statement.bind(1, term);
  statement.bind(2, number / chunk_numbers);
  if (!bytes.empty()) statement.bindNoCopy(3, bytes.data(), static_cast<int>(bytes.size()));
  statement.exec();
}

void NumberSets::insert(std::string_view field, const std::string& value, std::int64_t number) {
  const auto id = term(field, value);
  auto numbers = chunk(id, number);
  if (numbers.insert(offset_of(number))) keep(id, number, numbers);
}

void NumberSets::erase(std::string_view field, const std::string& value, std::int64_t number) {
  const auto id = term(field, value);
  auto numbers = chunk(id, number);
  if (numbers.erase(offset_of(number))) keep(id, number, numbers);
}

void NumberSets::clear() {
  database_.exec("DELETE FROM number_sets; DELETE FROM terms;");
}

CommonNumbers::CommonNumbers(SQLite::Database& database,
                             const std::vector<std::pair<std::string_view, std::string>>& terms) {
  SQLite::Statement term(database, "SELECT id FROM terms WHERE field = ? AND value = ?");
  for (const auto& [field, value] : terms) {
    const Reset reset{term};
    bind_text(term, 1, field);
    term.bind(2, value);
    if (!term.executeStep()) {
      empty_ = true;
      return;
    }
    sets_.emplace_back(database,
                       "SELECT chunk, numbers FROM number_sets WHERE term = ? AND chunk >= ?"
                       " ORDER BY chunk LIMIT 1");
    sets_.back().bind(1, term.getColumn(0).getInt64());
  }
}

// True when common_ is that of `chunk`; else `chunk` moves on to the next one that can have any, or
// no_number.
bool CommonNumbers::load(std::int64_t& chunk) {
  common_ = NumberChunk::full();
  for (auto& set : sets_) {
    const Reset reset{set};
    set.bind(2, chunk);
    const auto found = set.executeStep() ? set.getColumn(0).getInt64() : no_number;
    if (found != chunk) {
      chunk = found;
      loaded_ = -1;
      return false;
    }
    common_.keep_common(NumberChunk::from_bytes(bytes_in(set.getColumn(1))));
  }
  loaded_ = chunk;
  return true;
}

std::int64_t CommonNumbers::next(std::int64_t from) {
  if (empty_) return no_number;
  if (sets_.empty()) return from;
  auto chunk = from / chunk_numbers;
  auto offset = offset_of(from);
  while (chunk != no_number) {
    if (loaded_ != chunk && !load(chunk)) {
      offset = 0;
      continue;
    }
    if (const auto found = common_.next(offset))
      return chunk * chunk_numbers + static_cast<std::int64_t>(*found);
    ++chunk;
    offset = 0;
  }
  return no_number;
}

}  // namespace shankwright::record
