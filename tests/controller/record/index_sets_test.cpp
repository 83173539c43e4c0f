// Sets of running numbers in pieces: do they hold what was put in, in one form each, and what do several have
// in common? Judged by std::set.
#include <algorithm>
#include <set>

#include "record/number_sets.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record;

namespace {

using Set = std::set<std::int64_t>;

SQLite::Database empty_tables() {
  SQLite::Database database(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  database.exec(
      "CREATE TABLE terms (id INTEGER PRIMARY KEY, field TEXT NOT NULL, value TEXT NOT NULL, UNIQUE (field, "
      "value))"
      " STRICT; CREATE TABLE number_sets (term INTEGER NOT NULL, chunk INTEGER NOT NULL, numbers BLOB NOT "
      "NULL,"
      " PRIMARY KEY (term, chunk)) STRICT, WITHOUT ROWID;");
  return database;
}

Set all_of(SQLite::Database& database, const std::vector<std::pair<std::string_view, std::string>>& terms) {
  CommonNumbers common(database, terms);
  Set out;
  for (auto number = common.next(1); number != no_number; number = common.next(number + 1))
    out.insert(number);
  return out;
}

}  // namespace

TEST_CASE("a chunk holds the offsets put into it, whatever their number and order") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (const std::size_t most : {0U, 1U, 5U, 510U, 511U, 512U, 513U, 3000U, 8192U}) {
    std::set<std::size_t> truth;
    NumberChunk chunk;
    for (std::size_t put = 0; put < most; ++put) {
      const auto offset = static_cast<std::size_t>(random() % chunk_numbers);
      REQUIRE(chunk.insert(offset) == truth.insert(offset).second);
    }
    for (int round = 0; round < 20; ++round) {
      const auto offset = static_cast<std::size_t>(random() % chunk_numbers);
      REQUIRE(chunk.erase(offset) == (truth.erase(offset) > 0));
    }
    REQUIRE(chunk.size() == truth.size());
    const auto bytes = chunk.bytes();
    CHECK(bytes.size() == (truth.size() < 512 ? 2 * truth.size() : 1024));
    const auto back = NumberChunk::from_bytes(bytes);
    CHECK(back.bytes() == bytes);
    std::set<std::size_t> found;
    for (auto offset = back.next(0); offset; offset = back.next(*offset + 1)) found.insert(*offset);
    CHECK(found == truth);
  }
  CHECK(NumberChunk::full().size() == 8192);
}

TEST_CASE("bytes that no chunk gives are told as damage") {
  using namespace std::string_literals;
  for (const auto& bytes :
       {"x"s, "\x01\x00\x01\x00"s, "\x00\x20"s, std::string(1023, 'a'), std::string(1026, '\0')})
    CHECK_THROWS_AS(NumberChunk::from_bytes(bytes), std::runtime_error);
}

TEST_CASE("sets kept in tables are the sets that grew and shrank, and common numbers those in each") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  auto database = empty_tables();
  NumberSets sets(database);
  // Sparse and dense ones, some gathered in few chunks.
  const std::vector<std::string> values{"rare", "often", "here", "there"};
  std::map<std::string, Set> truth;
  for (int step = 0; step < 20'000; ++step) {
    const auto& value = values[random() % values.size()];
    const auto width = value == "rare" ? 3 : 12'000;
    const auto begin = value == "there" ? 40'000 : 1;
    const auto number =
        begin + static_cast<std::int64_t>(random() % static_cast<unsigned>(width)) * (value == "rare" ? 9001
                                                                                      : value == "often" ? 4
                                                                                                         : 1);
    if (random() % 4 == 0) {
      sets.erase(field::job, value, number);
      truth[value].erase(number);
    } else {
      sets.insert(field::job, value, number);
      truth[value].insert(number);
    }
  }
  for (const auto& value : values) CHECK(all_of(database, {{field::job, value}}) == truth[value]);
  for (const auto& one : values)
    for (const auto& other : values) {
      Set both;
      std::set_intersection(truth[one].begin(), truth[one].end(), truth[other].begin(), truth[other].end(),
                            std::inserter(both, both.end()));
      CHECK(all_of(database, {{field::job, one}, {field::job, other}}) == both);
    }
  CHECK(all_of(database, {{field::gauge, "rare"}}).empty());
  CommonNumbers common(database, {{field::job, "often"}});
  CHECK(common.next(*truth["often"].rbegin()) == *truth["often"].rbegin());
  CHECK(common.next(*truth["often"].rbegin() + 1) == no_number);
}
