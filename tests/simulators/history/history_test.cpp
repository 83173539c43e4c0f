// A record filled by the generator: does it hold together like a station's own, does the same seed tell the
// same fittings, and is every kind of end among them?
#include <catch2/catch.hpp>

#include <filesystem>
#include <map>
#include <set>

#include "record/store.hpp"
#include "simulators/history/history.hpp"
#include "simulators/history/telling.hpp"

using namespace shankwright;

namespace {

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "shankwright-history-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    path = name;
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::filesystem::path path;
};

std::shared_ptr<record::SqliteStore> filled(const Folder& folder, const history::HistoryOptions& options) {
  record::StoreOptions filling;
  filling.fill_without_safety = true;
  const auto store = record::SqliteStore::open(folder.path / "data", filling);
  REQUIRE(store.ok());
  const auto written = history::write_history(*store.value(), options);
  INFO((written ? "" : written.problem().text()));
  REQUIRE(written.ok());
  CHECK(written.value().fittings == options.fittings);
  REQUIRE_FALSE(store.value()->finish_filling());
  return store.value();
}

}  // namespace

TEST_CASE("a filled record has a whole chain and opens as any other") {
  const Folder folder;
  history::HistoryOptions options;
  options.fittings = 60;
  auto store = filled(folder, options);
  const auto chain = store->check_chain();
  REQUIRE(chain.ok());
  CHECK_FALSE(chain.value().broken);
  CHECK(chain.value().checked > 60 * 20);
  store.reset();
  CHECK(record::SqliteStore::open(folder.path / "data").ok());
}

TEST_CASE("every verdict, and many jobs, people, dies and lots are among a few thousand") {
  const Folder folder;
  history::HistoryOptions options;
  options.fittings = 3000;
  options.brief = true;
  options.seal_releases = false;
  const auto store = filled(folder, options);
  for (const auto* verdict : {"accepted", "re-pressed", "scrapped", "held", "open"}) {
    INFO(verdict);
    ports::FittingFilter filter;
    filter.verdict = verdict;
    const auto found = store->find(filter);
    REQUIRE(found.ok());
    CHECK_FALSE(found.value().empty());
  }
  std::set<std::string> jobs, operators, dies, lots;
  REQUIRE(store
              ->each_fitting({},
                             [&](const ports::FittingRow& row) {
                               jobs.insert(row.job);
                               operators.insert(row.operator_id);
                               dies.insert(row.die_pair_id);
                               lots.insert(row.rope_lot);
                               return true;
                             })
              .value() == 3000);
  CHECK(jobs.size() > 80);
  CHECK(operators.size() > 5);
  CHECK(dies.size() >= 4);
  CHECK(lots.size() > 8);
}

TEST_CASE("the same seed tells the same fittings, another one others; no two bites are alike") {
  const auto told = [](std::uint64_t seed) {
    history::Telling telling(seed, 0, 1'000'000'000'000, 20);
    std::string out;
    for (int index = 0; index < 20; ++index) {
      const auto fitting = telling.next();
      out += fitting.row.job + fitting.row.rope_lot;
      for (const auto& entry : fitting.entries) {
        out += entry.event + entry.body_json + entry.state_json + std::to_string(entry.at_utc_us);
        for (const auto& sample : entry.trace)
          out += std::to_string(sample.pressure_bar) + "," + std::to_string(sample.gap_mm) + ";";
      }
    }
    return out;
  };
  CHECK(told(7) == told(7));
  CHECK(told(7) != told(8));
  history::Telling telling(1, 0, 1'000'000'000'000, 20);
  std::set<double> sums;
  int bites = 0;
  for (int index = 0; index < 20; ++index)
    for (const auto& entry : telling.next().entries) {
      if (entry.trace.empty()) continue;
      ++bites;
      double sum = 0;
      for (const auto& sample : entry.trace) sum += sample.pressure_bar + 7 * sample.gap_mm;
      sums.insert(sum);
    }
  CHECK(bites > 20);
  CHECK(static_cast<int>(sums.size()) == bites);
}
