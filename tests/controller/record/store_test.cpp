#include "record/store.hpp"

#include <sys/stat.h>

#include <atomic>
#include <functional>
#include <thread>

#include "record/connection.hpp"
#include "record/serial.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;

namespace {

void require_same(const ports::NewEntry& left, const ports::NewEntry& right) {
  REQUIRE(left.at_utc_us == right.at_utc_us);
  REQUIRE(left.serial == right.serial);
  REQUIRE(left.kind == right.kind);
  REQUIRE(left.event == right.event);
  REQUIRE(left.actor == right.actor);
  REQUIRE(left.body_json == right.body_json);
  REQUIRE(left.state_json == right.state_json);
  REQUIRE(left.stage == right.stage);
  REQUIRE(left.trace == right.trace);
}

}  // namespace

TEST_CASE("random entries with traces are read back as they were written, by this opening and the next") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  ScratchFolder folder;
  std::vector<std::vector<ports::NewEntry>> written(4);
  std::vector<std::string> serials(1);  // the first stands for the station itself
  {
    const auto store = opened(folder);
    for (int fitting = 1; fitting < 4; ++fitting) {
      serials.push_back(begin_fitting(*store));
      written[static_cast<std::size_t>(fitting)].push_back(entry_of(serials.back(), "admit"));
    }
    for (int round = 0; round < 60; ++round) {
      std::vector<ports::NewEntry> together(std::uniform_int_distribution<std::size_t>(1, 4)(random));
      for (auto& entry : together) {
        const auto whose = std::uniform_int_distribution<std::size_t>(0, 3)(random);
        entry.serial = serials[whose];
        entry.at_utc_us = static_cast<std::int64_t>(random());
        entry.kind = "k" + random_text(random, 12);
        entry.event = random_text(random, 40);
        entry.actor = random_text(random, 40);
        entry.body_json = random_text(random, 3000);
        entry.state_json = random_text(random, 3000);
        entry.stage = random_text(random, 20);
        if (round % 3 == 0) entry.trace = random_trace(random, 400);
        written[whose].push_back(entry);
      }
      good(store->append(together));
    }
  }
  const auto store = opened(folder);
  for (std::size_t whose = 1; whose < 4; ++whose) {
    const auto read = good(store->entries(serials[whose], true));
    REQUIRE(read.size() == written[whose].size());
    for (std::size_t index = 0; index < read.size(); ++index) {
      require_same(read[index].entry, written[whose][index]);
      if (index > 0) REQUIRE(read[index].sequence > read[index - 1].sequence);
    }
  }
  // The station's own entries hold the three reservations as well.
  CHECK(good(store->entries("", true)).size() == written[0].size() + 3);
  CHECK_FALSE(good(store->check_chain()).broken);
}

TEST_CASE("entries read without traces carry none") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  auto bite = entry_of(serial, "bite_finished");
  bite.trace = {{0, 1.0, 2.0}};
  good(store->append({bite}));
  CHECK(good(store->entries(serial, false)).back().entry.trace.empty());
  CHECK(good(store->entries(serial, true)).back().entry.trace == bite.trace);
}

TEST_CASE("append numbers entries without a gap and returns the last number") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  CHECK(good(store->append({entry_of(serial, "a"), entry_of(serial, "b")})) == 4);
  CHECK(good(store->append({entry_of("", "started")})) == 5);
  CHECK(good(store->append({})) == 5);
}

TEST_CASE("serials follow one another and are never given twice, across openings too") {
  ScratchFolder folder;
  std::int64_t before = 0;
  for (int opening = 0; opening < 3; ++opening) {
    const auto store = opened(folder);
    for (int index = 0; index < 5; ++index) {
      const auto number = record::number_of(good(store->reserve_serial(1)));
      REQUIRE(number == before + 1);
      before = *number;
    }
  }
}

TEST_CASE("an entry about a serial never given takes the whole batch with it") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  const auto refused = store->append({entry_of(serial, "a"), entry_of(record::serial_of(77), "b")});
  REQUIRE_FALSE(refused.ok());
  CHECK(record::is_unknown_serial(refused.problem()));
  CHECK(good(store->entries(serial, false)).size() == 1);
  CHECK(good(store->append({entry_of(serial, "c")})) == 3);
}

TEST_CASE("a fitting is opened once, and only under a serial that was given") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  CHECK_FALSE(store->open_fitting(row_of(serial), entry_of(serial, "admit")).ok());
  const auto never = record::serial_of(500);
  CHECK_FALSE(store->open_fitting(row_of(never), entry_of(never, "admit")).ok());
  CHECK(good(store->entries(serial, false)).size() == 1);
  CHECK_FALSE(good(store->check_chain()).broken);
}

TEST_CASE("the fitting shows what it was opened with and where its newest entry left it") {
  ScratchFolder folder;
  const auto store = opened(folder);
  auto wanted = row_of("", 5000);
  wanted.job = "d\xC3\xA9p\xC3\xB4t 'quoted' \"twice\"";
  wanted.serial = begin_fitting(*store, 5000, wanted);
  good(store->append({entry_of(wanted.serial, "rope_diameter", 6000, "mark")}));
  auto silent = entry_of(wanted.serial, "note", 7000);
  silent.state_json.clear();
  silent.stage.clear();
  good(store->append({silent}));
  const auto row = good(store->fitting(wanted.serial));
  CHECK(row.serial == wanted.serial);
  CHECK(row.recipe_id == wanted.recipe_id);
  CHECK(row.recipe_revision == wanted.recipe_revision);
  CHECK(row.job == wanted.job);
  CHECK(row.operator_id == wanted.operator_id);
  CHECK(row.rope_lot == wanted.rope_lot);
  CHECK(row.terminal_lot == wanted.terminal_lot);
  CHECK(row.die_pair_id == wanted.die_pair_id);
  CHECK(row.joined_recipe_json == wanted.joined_recipe_json);
  CHECK(row.started_utc_us == 5000);
  CHECK(row.changed_utc_us == 7000);
  CHECK(row.stage == "mark");
  CHECK(row.verdict == "open");
  CHECK(row.state_json == entry_of("", "", 0, "mark").state_json);
}

TEST_CASE("a fitting opened from a row alone takes its state and stage from there") {
  ScratchFolder folder;
  const auto store = opened(folder);
  auto row = row_of(good(store->reserve_serial(1)));
  row.stage = "measure";
  row.state_json = R"({"stage":"measure"})";
  auto admit = entry_of(row.serial, "admit");
  admit.stage.clear();
  admit.state_json.clear();
  good(store->open_fitting(row, admit));
  CHECK(good(store->fitting(row.serial)).stage == "measure");
  CHECK(good(store->fitting(row.serial)).state_json == row.state_json);
}

TEST_CASE("an unknown serial is told apart from one that was given and never begun") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto given = good(store->reserve_serial(1));
  const auto never_begun = store->fitting(given), unknown = store->fitting("SW-9");
  REQUIRE_FALSE(never_begun.ok());
  CHECK(never_begun.problem().text() ==
        "serial: found SW-000001-" + given.substr(10) +
            ", given but never begun, expected the serial of a fitting in this record");
  REQUIRE_FALSE(unknown.ok());
  CHECK(unknown.problem().found == "\"SW-9\"");
  CHECK(record::is_unknown_serial(unknown.problem()));
  good(store->append({entry_of(given, "refused_admission")}));
  CHECK(good(store->entries(given, false)).size() == 1);
  CHECK_FALSE(store->fitting(given).ok());
}

TEST_CASE("a recipe used by many fittings is kept once, another revision beside it") {
  ScratchFolder folder;
  auto other = row_of("");
  other.joined_recipe_json = R"({"recipe":{"id":"hexagon-4.8","revision":4}})";
  {
    const auto store = opened(folder);
    for (int index = 0; index < 5; ++index) begin_fitting(*store);
    CHECK(good(store->fitting(begin_fitting(*store, 1, other))).joined_recipe_json ==
          other.joined_recipe_json);
  }
  SQLite::Database database(folder.file().string());
  CHECK(database.execAndGet("SELECT count(*) FROM documents").getInt() == 2);
}

TEST_CASE("the data folder and everything in it belong to its owner alone") {
  ScratchFolder folder;
  const auto store = opened(folder);
  begin_fitting(*store);
  struct stat status {};
  REQUIRE(::stat(folder.data().c_str(), &status) == 0);
  CHECK((status.st_mode & 0777) == 0700);
  int files = 0;
  for (const auto& item : std::filesystem::directory_iterator(folder.data())) {
    REQUIRE(::stat(item.path().c_str(), &status) == 0);
    INFO(item.path());
    CHECK((status.st_mode & 0777) == 0600);
    ++files;
  }
  CHECK(files == 4);  // record, journal, its index, lock
}

TEST_CASE("a second station on the same folder is refused in words, and may take over after the first") {
  ScratchFolder folder;
  auto first = opened(folder);
  const auto second = SqliteStore::open(folder.data());
  REQUIRE_FALSE(second.ok());
  CHECK(second.problem().found ==
        "another station (process " + std::to_string(::getpid()) + ") writing to this record");
  begin_fitting(*first);
  first.reset();
  begin_fitting(*opened(folder));
}

TEST_CASE("a reader sees what the station wrote, while it writes and after, and may write nothing") {
  ScratchFolder folder;
  CHECK_FALSE(SqliteStore::open_to_read(folder.data()).ok());
  CHECK_FALSE(std::filesystem::exists(folder.data()));
  auto store = opened(folder);
  const auto reader = good(SqliteStore::open_to_read(folder.data()));
  const auto serial = begin_fitting(*store);
  CHECK(good(reader->fitting(serial)).serial == serial);
  const auto refused = reader->append({entry_of(serial, "a")});
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found == "a record opened for reading");
  CHECK_FALSE(reader->reserve_serial(1).ok());
  CHECK_FALSE(reader->rebuild_index().ok());
  store.reset();
  CHECK(good(reader->entries(serial, true)).size() == 1);
  CHECK(good(good(SqliteStore::open_to_read(folder.data()))->serials()) == std::vector{serial});
}

TEST_CASE("commits reach the disk before they return") {
  // SQLite documentation, "PRAGMA synchronous": FULL (2) with a WAL journal synchronises the journal after
  // each transaction. A kill cannot show the difference, only a power loss could: so the setting itself is
  // checked.
  ScratchFolder folder;
  opened(folder);
  const auto writer = record::connect_writer(folder.file());
  CHECK(writer->execAndGet("PRAGMA synchronous").getInt() == 2);
  CHECK(writer->execAndGet("PRAGMA journal_mode").getString() == "wal");
  CHECK(writer->execAndGet("PRAGMA foreign_keys").getInt() == 1);
}

TEST_CASE("several threads write and read at once, and every reader sees whole steps only") {
  ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  constexpr int steps = 60;
  std::atomic<int> writers_left = 2, faults = 0;
  const auto write = [&] {
    for (int step = 0; step < steps; ++step)
      faults += !store->append({entry_of(serial, "first"), entry_of(serial, "second")}).ok();
    --writers_left;
  };
  const auto read = [&] {
    std::size_t before = 0;
    do {
      const auto entries = store->entries(serial, true);
      faults += !entries.ok() || entries.value().size() < before || entries.value().size() % 2 != 1;
      if (entries.ok()) before = entries.value().size();
      faults += !store->fitting(serial).ok();
    } while (writers_left > 0);
  };
  std::vector<std::thread> threads;
  for (const auto& work : std::vector<std::function<void()>>{write, write, read, read})
    threads.emplace_back(work);
  for (auto& thread : threads) thread.join();
  CHECK(faults == 0);
  CHECK(good(store->entries(serial, false)).size() == 1 + 2 * 2 * steps);
  CHECK_FALSE(good(store->check_chain()).broken);
}
