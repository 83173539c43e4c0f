#include <algorithm>

#include "record/index.hpp"
#include "record/serial.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;

namespace {

std::vector<std::string> serials_of(const std::vector<ports::FittingRow>& rows) {
  std::vector<std::string> out;
  for (const auto& row : rows) out.push_back(row.serial);
  return out;
}

std::string as_text(const ports::FittingRow& row) {
  std::string out;
  for (const auto& part :
       {row.serial, row.recipe_id, row.job, row.operator_id, row.rope_lot, row.terminal_lot, row.die_pair_id,
        row.stage, row.verdict, std::to_string(row.recipe_revision), std::to_string(row.started_utc_us),
        std::to_string(row.changed_utc_us), row.state_json, row.joined_recipe_json})
    out += part + "|";
  return out;
}

struct Shop {
  ScratchFolder folder;
  std::shared_ptr<record::SqliteStore> store = opened(folder);
  std::vector<ports::FittingRow> made;  // as they must be found

  // Fittings whose every fact is drawn from a few values, left at a stage drawn at random.
  explicit Shop(std::uint64_t seed, int fittings) {
    std::mt19937_64 random(seed);
    const auto one_of = [&](const std::string& prefix) {
      return prefix + static_cast<char>('a' + std::uniform_int_distribution<int>(0, 2)(random));
    };
    const std::vector<std::string> stages{"measure",  "gauge", "accepted", "released",
                                          "scrapped", "hold",  "aside"};
    for (int index = 0; index < fittings; ++index) {
      auto row = row_of("");
      row.recipe_id = one_of("recipe-");
      row.job = one_of("job-");
      row.operator_id = one_of("op-");
      row.rope_lot = one_of("rope-");
      row.terminal_lot = one_of("terminal-");
      row.die_pair_id = one_of("die-");
      row.joined_recipe_json = one_of("document-");
      row.started_utc_us = 1000 * index;
      row.serial = begin_fitting(*store, row.started_utc_us, row);
      row.stage = stages[std::uniform_int_distribution<std::size_t>(0, stages.size() - 1)(random)];
      const int re_presses = std::uniform_int_distribution<int>(0, 1)(random);
      const auto entry = entry_of(row.serial, "any", row.started_utc_us + 7, row.stage, re_presses);
      good(store->append({entry}));
      row.state_json = entry.state_json;
      row.changed_utc_us = entry.at_utc_us;
      row.verdict = row.stage == "scrapped"                              ? "scrapped"
                    : row.stage == "hold"                                ? "held"
                    : row.stage != "accepted" && row.stage != "released" ? "open"
                    : re_presses > 0                                     ? "re-pressed"
                                                                         : "accepted";
      made.push_back(row);
    }
  }
};

}  // namespace

TEST_CASE("the verdict follows from the stage and the re-presses counted in the state") {
  const auto verdict_of = [](std::string_view stage, std::string_view state) {
    return record::verdict_of(stage, record::facts_of_state(nlohmann::json::parse(state, nullptr, false)));
  };
  for (const auto* stage : {"none", "measure", "mark", "insert", "position", "permit_recorded",
                            "permit_given", "biting", "turn", "gauge", "aside", ""})
    CHECK(verdict_of(stage, R"({"re_presses":1})") == "open");
  for (const auto* stage : {"accepted", "released"}) {
    CHECK(verdict_of(stage, R"({"re_presses":0})") == "accepted");
    CHECK(verdict_of(stage, R"({"re_presses":1})") == "re-pressed");
    CHECK(verdict_of(stage, R"({"re_presses":2})") == "re-pressed");
    for (const auto* unclear : {"", "{}", "[]", "no JSON", R"({"re_presses":"1"})", R"({"re_presses":null})"})
      CHECK(verdict_of(stage, unclear) == "accepted");
  }
  CHECK(verdict_of("scrapped", R"({"re_presses":1})") == "scrapped");
  CHECK(verdict_of("hold", R"({"re_presses":1})") == "held");
}

TEST_CASE("find gives exactly the fittings that fit the filter, in the order of their serials") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  const Shop shop(seed, 120);
  std::mt19937_64 random(seed);
  const auto maybe = [&](const std::string& prefix) {
    return std::uniform_int_distribution<int>(0, 3)(random) > 0
               ? std::string()
               : prefix + static_cast<char>('a' + std::uniform_int_distribution<int>(0, 3)(random));
  };
  const std::vector<std::string> verdicts{"", "", "open", "accepted", "re-pressed", "scrapped", "held"};
  int found_any = 0;
  for (int round = 0; round < 200; ++round) {
    ports::FittingFilter filter;
    filter.recipe_id = maybe("recipe-");
    filter.job = maybe("job-");
    filter.operator_id = maybe("op-");
    filter.rope_lot = maybe("rope-");
    filter.terminal_lot = maybe("terminal-");
    filter.die_pair_id = maybe("die-");
    filter.verdict = verdicts[std::uniform_int_distribution<std::size_t>(0, verdicts.size() - 1)(random)];
    if (round % 2 == 0) filter.from_utc_us = std::uniform_int_distribution<std::int64_t>(0, 120'000)(random);
    if (round % 3 == 0) filter.until_utc_us = std::uniform_int_distribution<std::int64_t>(0, 120'000)(random);
    std::vector<ports::FittingRow> expected;
    const auto fits = [](const std::string& wanted, const std::string& is) {
      return wanted.empty() || wanted == is;
    };
    for (const auto& row : shop.made)
      if (fits(filter.recipe_id, row.recipe_id) && fits(filter.job, row.job) &&
          fits(filter.operator_id, row.operator_id) && fits(filter.rope_lot, row.rope_lot) &&
          fits(filter.terminal_lot, row.terminal_lot) && fits(filter.die_pair_id, row.die_pair_id) &&
          fits(filter.verdict, row.verdict) &&
          (!filter.from_utc_us || row.started_utc_us >= *filter.from_utc_us) &&
          (!filter.until_utc_us || row.started_utc_us < *filter.until_utc_us))
        expected.push_back(row);
    filter.limit = 1000;
    const auto found = good(shop.store->find(filter));
    REQUIRE(serials_of(found) == serials_of(expected));
    for (std::size_t index = 0; index < found.size(); ++index) {
      CHECK(found[index].state_json.empty());  // a page of the search carries neither
      CHECK(found[index].joined_recipe_json.empty());
      REQUIRE(as_text(good(shop.store->fitting(found[index].serial))) == as_text(expected[index]));
    }
    found_any += !found.empty();
  }
  CHECK(found_any > 20);
}

TEST_CASE(
    "an instant in the filter takes the fitting that starts at `from` and leaves the one that starts at "
    "`until`") {
  const Shop shop(1, 5);
  ports::FittingFilter filter;
  filter.from_utc_us = 1000;
  filter.until_utc_us = 3000;
  CHECK(serials_of(good(shop.store->find(filter))) == std::vector{shop.made[1].serial, shop.made[2].serial});
}

TEST_CASE("the beginning of a serial finds it with hyphens and without, in small letters too") {
  const Shop shop(1, 12);
  const auto& serial = shop.made[10].serial;  // SW-000011-..
  for (const std::string& typed :
       {serial, record::bare(serial), std::string("sw-000011"), std::string("SW000011")}) {
    ports::FittingFilter filter;
    filter.serial_prefix = typed;
    CHECK(serials_of(good(shop.store->find(filter))) == std::vector{serial});
  }
  ports::FittingFilter filter;
  filter.serial_prefix = "SW-00001";
  CHECK(good(shop.store->find(filter)).size() == 3);  // 10, 11, 12
  filter.serial_prefix = "%";
  CHECK(good(shop.store->find(filter)).empty());
}

TEST_CASE("pages of any size put together are the whole list, also while fittings are added") {
  for (const std::size_t size : {1U, 2U, 7U, 60U}) {
    Shop shop(size, 25);
    std::vector<std::string> pages;
    ports::FittingFilter filter;
    filter.limit = size;
    for (bool added = false;;) {
      const auto page = serials_of(good(shop.store->find(filter)));
      if (page.empty()) break;
      REQUIRE(page.size() <= size);
      pages.insert(pages.end(), page.begin(), page.end());
      filter.after_serial = page.back();
      if (!added) shop.made.push_back(row_of(begin_fitting(*shop.store)));
      added = true;
    }
    CHECK(pages == serials_of(shop.made));
  }
  const Shop shop(1, 1);
  ports::FittingFilter filter;
  filter.after_serial = "SW-000001-00";
  const auto refused = shop.store->find(filter);
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().place == "after");
}

TEST_CASE("open fittings are those neither released nor scrapped") {
  const Shop shop(3, 60);
  std::vector<std::string> expected;
  for (const auto& row : shop.made)
    if (row.stage != "released" && row.stage != "scrapped") expected.push_back(row.serial);
  REQUIRE(expected.size() > 10);
  CHECK(serials_of(good(shop.store->open_fittings())) == expected);
}

TEST_CASE("the index rebuilt from the entries is the index that grew with them") {
  const Shop shop(std::random_device{}(), 80);
  const auto given_only = good(shop.store->reserve_serial(1));
  ports::FittingFilter all;
  all.limit = 1000;
  const auto whole = [&] {
    std::vector<ports::FittingRow> rows;
    for (const auto& row : good(shop.store->find(all))) rows.push_back(good(shop.store->fitting(row.serial)));
    return rows;
  };
  const auto before = whole();
  // Damage the index beyond recognition; it is no evidence and no trigger guards it.
  {
    SQLite::Database database(shop.folder.file().string(), SQLite::OPEN_READWRITE);
    database.exec(
        "DELETE FROM fitting_index WHERE number % 3 = 0; UPDATE fitting_index SET verdict = 'accepted', job "
        "= '',"
        " last_sequence = 1, started_utc_us = 0; UPDATE fitting_states SET state_json = '';"
        " DELETE FROM number_sets WHERE term % 2 = 0; UPDATE die_strokes SET strokes = 7; DELETE FROM "
        "start_blocks;"
        " INSERT INTO texts (rowid, words) VALUES (1, 'never said')");
    database.exec("PRAGMA foreign_keys=OFF; DELETE FROM serials WHERE number > 40");
  }
  CHECK(good(shop.store->rebuild_index()) == 80 * 3 + 1);
  const auto after = whole();
  REQUIRE(serials_of(before) == serials_of(after));
  for (std::size_t index = 0; index < before.size(); ++index)
    REQUIRE(as_text(before[index]) == as_text(after[index]));
  CHECK(good(shop.store->reserve_serial(1)) == record::serial_of(*record::number_of(given_only) + 1));
}
