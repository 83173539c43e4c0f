// Gauges, findings, words and everything else that can be asked for, alone and together: exactly the fittings
// that a look at each one by itself would give. And what is looked up follows from the entries alone.
#include <algorithm>
#include <set>

#include "record/serial.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;

namespace {

struct Made {
  ports::FittingRow row;
  std::set<std::string> gauges, findings, words;
  std::int64_t bites = 0;
};

// Any history: openings, readings with gauges, refusals, findings, reasons, verdicts that change,
// corrections.
class Histories {
 public:
  Histories(std::uint64_t seed, int fittings, record::SqliteStore& store) : random_(seed), store_(store) {
    for (int index = 0; index < fittings; ++index) open(index);
    for (int step = 0; step < fittings * 4; ++step) go_on(made[pick(made.size())], step);
  }
  std::vector<Made> made;

  std::size_t pick(std::size_t count) { return random_() % count; }
  std::string one_of(const std::string& prefix, std::size_t count) {
    return prefix + static_cast<char>('a' + pick(count));
  }

 private:
  void open(int index) {
    Made fitting;
    fitting.row = row_of("");
    fitting.row.recipe_id = one_of("recipe-", 3);
    fitting.row.job = one_of("job-", 3);
    fitting.row.operator_id = one_of("op-", 3);
    fitting.row.rope_lot = one_of("rope-", 4);
    fitting.row.die_pair_id = one_of("die-", 3);
    // The clock is set back now and then.
    const std::int64_t at = 1000 * index - (pick(20) == 0 ? 50'000 : 0);
    fitting.row.serial = begin_fitting(store_, at, fitting.row);
    if (pick(10) == 0) good(store_.reserve_serial(at));  // given, never begun
    fitting.row.started_utc_us = at;
    fitting.row.verdict = "open";
    for (const auto& text : {fitting.row.recipe_id, fitting.row.job, fitting.row.rope_lot})
      fitting.words.insert(text);
    made.push_back(fitting);
  }

  void go_on(Made& fitting, int step) {
    const std::vector<std::string> stages{"measure", "accepted", "released", "scrapped", "hold"};
    const auto stage = stages[pick(stages.size())];
    auto entry = entry_of(fitting.row.serial, "any", 1000 * step, stage);
    fitting.bites += static_cast<std::int64_t>(pick(3));
    entry.state_json =
        R"({"bites_done":)" + std::to_string(fitting.bites) + R"(,"stage":")" + stage + R"("})";
    const auto gauge = one_of("gauge-", 5), code = one_of("code_", 5), word = one_of("because", 6);
    const auto kind = pick(4);
    entry.body_json = R"({"event":{"x":1})";
    if (kind <= 1) {
      entry.body_json += R"(,"gauge":")" + gauge + "\"";
      if (kind == 1)
        entry.kind = "refused";
      else
        fitting.gauges.insert(gauge);
    }
    if (kind >= 1 && kind <= 2) {
      entry.body_json += R"(,"findings":[{"code":")" + code + R"(","found":1},{"code":"always"}])";
      fitting.findings.insert({code, "always"});
    }
    if (kind == 3) {
      entry.body_json += R"(,"reason":"It is )" + word + R"( of rust.")";
      fitting.words.insert({word, "rust"});
    }
    entry.body_json += "}";
    if (kind != 1 && pick(8) == 0) {
      entry.kind = "correction";
      entry.stage.clear();
      entry.state_json.clear();
    } else {
      fitting.row.verdict = stage == "measure"    ? "open"
                            : stage == "hold"     ? "held"
                            : stage == "scrapped" ? stage
                                                  : "accepted";
    }
    good(store_.append({entry}));
  }

  std::mt19937_64 random_;
  record::SqliteStore& store_;
};

std::vector<std::string> found(const record::SqliteStore& store, const ports::FittingFilter& filter) {
  std::vector<std::string> out;
  for (const auto& row : good(store.find(filter))) out.push_back(row.serial);
  return out;
}

bool fits(const Made& fitting, const ports::FittingFilter& filter, const std::vector<std::string>& words) {
  const auto& row = fitting.row;
  const auto equal = [](const std::string& wanted, const std::string& is) {
    return wanted.empty() || wanted == is;
  };
  const auto among = [](const std::string& wanted, const std::set<std::string>& all) {
    return wanted.empty() || all.count(wanted) > 0;
  };
  return equal(filter.verdict, row.verdict) && equal(filter.job, row.job) &&
         equal(filter.rope_lot, row.rope_lot) && equal(filter.die_pair_id, row.die_pair_id) &&
         among(filter.gauge_id, fitting.gauges) && among(filter.finding_code, fitting.findings) &&
         (!filter.from_utc_us || row.started_utc_us >= *filter.from_utc_us) &&
         (!filter.until_utc_us || row.started_utc_us < *filter.until_utc_us) &&
         record::bare(row.serial).starts_with(record::bare(filter.serial_prefix)) &&
         std::all_of(words.begin(), words.end(),
                     [&](const auto& word) { return fitting.words.count(word) > 0; });
}

// Every row of every table that is looked up; of the word list what it says, for how it says it depends on
// the way.
std::vector<std::string> tables(const std::filesystem::path& file) {
  SQLite::Database database(file.string(), SQLite::OPEN_READWRITE);
  database.exec("CREATE VIRTUAL TABLE temp.said USING fts5vocab('main', 'texts', 'instance')");
  std::vector<std::string> out;
  for (const auto* table : {"serials", "fitting_index", "fitting_states", "terms", "number_sets",
                            "start_blocks", "die_strokes", "temp.said"}) {
    SQLite::Statement rows(database, std::string("SELECT * FROM ") + table + " ORDER BY 1, 2");
    while (rows.executeStep()) {
      std::string line = table;
      for (int column = 0; column < rows.getColumnCount(); ++column)
        line += "|" + rows.getColumn(column).getString();
      out.push_back(line);
    }
  }
  return out;
}

}  // namespace

TEST_CASE("any conditions together find exactly the fittings that meet each of them, page by page") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  const ScratchFolder folder;
  const auto store = opened(folder);
  Histories shop(seed, 300, *store);
  int found_any = 0, found_none = 0;
  for (int round = 0; round < 300; ++round) {
    ports::FittingFilter filter;
    std::vector<std::string> words;
    const auto maybe = [&] { return shop.pick(4) == 0; };
    if (maybe())
      filter.verdict =
          std::vector<std::string>{"open", "accepted", "held", "scrapped", "re-pressed"}[shop.pick(5)];
    if (maybe()) filter.job = shop.one_of("job-", 4);
    if (maybe()) filter.rope_lot = shop.one_of("rope-", 5);
    if (maybe()) filter.die_pair_id = shop.one_of("die-", 3);
    if (maybe()) filter.gauge_id = shop.one_of("gauge-", 6);
    if (maybe()) filter.finding_code = shop.pick(2) ? "always" : shop.one_of("code_", 6);
    if (maybe()) filter.serial_prefix = maybe() ? "SW-0001" : "sw00002";
    if (maybe()) filter.from_utc_us = static_cast<std::int64_t>(shop.pick(300'000));
    if (maybe()) filter.until_utc_us = static_cast<std::int64_t>(shop.pick(300'000));
    if (maybe()) {
      words = shop.pick(2) ? std::vector<std::string>{shop.one_of("because", 7), "rust"}
                           : std::vector<std::string>{shop.one_of("rope-", 4), shop.one_of("because", 6)};
      filter.text = words[0] + "  " + words[1];
    }
    std::vector<std::string> expected;
    for (const auto& fitting : shop.made)
      if (fits(fitting, filter, words)) expected.push_back(fitting.row.serial);
    filter.limit = 1000;
    REQUIRE(found(*store, filter) == expected);
    std::vector<std::string> pages;
    filter.limit = 1 + shop.pick(40);
    for (auto page = found(*store, filter); !page.empty(); page = found(*store, filter)) {
      pages.insert(pages.end(), page.begin(), page.end());
      filter.after_serial = page.back();
    }
    REQUIRE(pages == expected);
    filter.after_serial.clear();
    std::vector<std::string> visited;
    CHECK(good(store->each_fitting(filter, [&](const ports::FittingRow& row) {
            visited.push_back(row.serial);
            return true;
          })) == static_cast<std::int64_t>(expected.size()));
    REQUIRE(visited == expected);
    (expected.empty() ? found_none : found_any) += 1;
  }
  CHECK(found_any > 50);
  CHECK(found_none > 10);
}

TEST_CASE("a visit that wants no more is the last") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  const Histories shop(1, 5, *store);
  int visited = 0;
  CHECK(good(store->each_fitting({}, [&](const ports::FittingRow&) { return ++visited < 3; })) == 3);
  CHECK(visited == 3);
}

TEST_CASE("strokes of a die pair are the good bites of its fittings, counted as they are recorded") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  const ScratchFolder folder;
  const auto store = opened(folder);
  const Histories shop(seed, 60, *store);
  for (const auto* die_pair : {"die-a", "die-b", "die-c", "die-d"}) {
    const auto told = good(store->strokes_of(die_pair));
    std::int64_t in_states = 0;
    for (const auto& fitting : shop.made) {
      if (fitting.row.die_pair_id != die_pair) continue;
      const auto state = good(store->fitting(fitting.row.serial)).state_json;
      const auto at = state.find("\"bites_done\":");
      if (at != std::string::npos) in_states += std::stoll(state.substr(at + 13));
    }
    CHECK(static_cast<std::int64_t>(told) == in_states);
    CHECK((in_states > 0) == (die_pair != std::string("die-d")));
  }
}

TEST_CASE("all that is looked up, made anew from the entries, is what grew with them") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  const ScratchFolder folder;
  auto store = opened(folder);
  const Histories shop(seed, 80, *store);
  const auto kept = tables(folder.file());
  CHECK(kept.size() > 500);
  good(store->rebuild_index());
  CHECK(tables(folder.file()) == kept);
  // And when all of it is gone.
  store.reset();
  {
    SQLite::Database database(folder.file().string(), SQLite::OPEN_READWRITE);
    database.exec(
        "DELETE FROM fitting_states; DELETE FROM fitting_index; DELETE FROM terms; DELETE FROM number_sets;"
        " DELETE FROM start_blocks; DELETE FROM die_strokes; INSERT INTO texts (texts) VALUES "
        "('delete-all');");
  }
  store = opened(folder);
  good(store->rebuild_index());
  CHECK(tables(folder.file()) == kept);
}
