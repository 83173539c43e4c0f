// Goal: a full or failing disk is a Problem in words, leaves nothing half done, and never a wrong "written".
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <fstream>
#include <functional>

#include "record/connection.hpp"
#include "record/schema.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;

namespace {

// Runs `steps` in a child process, which may spoil its own limits and user; gives the step that failed, 0 for
// none.
int in_child(const std::function<int()>& steps) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) ::_exit(steps());
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(WIFEXITED(status));
  return WEXITSTATUS(status);
}

}  // namespace

TEST_CASE("when the disk is full the step is refused whole, and goes through once there is room") {
  ScratchFolder folder;
  std::string serial;
  std::int64_t kept = 0;
  std::vector<ports::NewEntry> large(3);
  {
    const auto store = opened(folder, {.most_pages = 60});
    serial = begin_fitting(*store);
    for (auto& entry : large) {
      entry = entry_of(serial, "large");
      entry.body_json = std::string(20'000, 'x');
    }
    bool full = false;
    for (int index = 0; index < 100 && !full; ++index) {
      const auto written = store->append(large);
      full = !written.ok();
      if (written.ok()) {
        kept = written.value();
        continue;
      }
      CHECK(written.problem().place == folder.file().string());
      CHECK(written.problem().found == "no room left on the disk");
      CHECK(written.problem().expected == "free space for the record; nothing of this step has been kept");
    }
    REQUIRE(full);
    REQUIRE(kept > 0);
    // Refused again while it is full, and not as a store given up: small steps still find room.
    CHECK_FALSE(store->append(large).ok());
    CHECK(good(store->append({entry_of(serial, "small")})) == kept + 1);
    CHECK(good(store->entries(serial, false)).back().sequence == kept + 1);
    CHECK_FALSE(good(store->check_chain()).broken);
  }
  const auto store = opened(folder);
  CHECK(good(store->append(large)) == kept + 4);
  CHECK_FALSE(good(store->check_chain()).broken);
}

TEST_CASE("after a disk error every write is refused until the record has been opened anew") {
  // The kernel itself fails the writes: a limit on the size of this process's files, with its signal ignored,
  // makes write() answer EFBIG, which is an input/output error to SQLite.
  ScratchFolder folder;
  const int failed = in_child([&] {
    const auto opening = SqliteStore::open(folder.data());
    if (!opening.ok()) return 1;
    const auto& store = *opening.value();
    auto& writer = *opening.value();
    const auto serial = writer.reserve_serial(1);
    if (!serial.ok() || !writer.open_fitting(row_of(serial.value()), entry_of(serial.value(), "admit")).ok())
      return 2;
    auto large = entry_of(serial.value(), "large");
    large.body_json = std::string(400'000, 'x');
    std::signal(SIGXFSZ, SIG_IGN);
    rlimit limit{};
    ::getrlimit(RLIMIT_FSIZE, &limit);
    const auto before = limit;
    limit.rlim_cur = 200'000;
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const auto refused = writer.append({entry_of(serial.value(), "small"), large});
    if (refused.ok()) return 3;
    if (refused.problem().found.find("a disk that fails") != 0) return 4;
    ::setrlimit(RLIMIT_FSIZE, &before);
    const auto still_refused = writer.append({entry_of(serial.value(), "small")});
    if (still_refused.ok()) return 5;
    if (still_refused.problem() != refused.problem()) return 6;
    const auto entries = store.entries(serial.value(), false);
    if (!entries.ok() || entries.value().size() != 1) return 7;
    return 0;
  });
  CHECK(failed == 0);
  const auto store = opened(folder);
  const auto serial = good(store->serials()).at(0);
  CHECK(good(store->entries(serial, false)).size() == 1);
  CHECK(good(store->append({entry_of(serial, "small")})) == 3);
  CHECK_FALSE(good(store->check_chain()).broken);
}

TEST_CASE("a damaged file, a foreign one and a newer one are refused in words") {
  ScratchFolder folder;
  {
    const auto store = opened(folder);
    for (int index = 0; index < 50; ++index) begin_fitting(*store);
  }
  const auto refused = [&] {
    const auto opening = SqliteStore::open(folder.data());
    REQUIRE_FALSE(opening.ok());
    return opening.problem().found;
  };
  SECTION("a newer one") {
    SQLite::Database(folder.file().string(), SQLite::OPEN_READWRITE).exec("PRAGMA user_version=99");
    CHECK(refused() == "a record of version 99");
    const auto reading = SqliteStore::open_to_read(folder.data());
    REQUIRE_FALSE(reading.ok());
    CHECK(reading.problem().found == "a record of version 99");
  }
  SECTION("a foreign one") {
    SQLite::Database(folder.file().string(), SQLite::OPEN_READWRITE).exec("PRAGMA application_id=1");
    CHECK(refused() == "a database of another program");
  }
  SECTION("a file that is no database") {
    std::ofstream(folder.file(), std::ios::trunc) << std::string(5000, 'x');
    CHECK(refused().find("a damaged file") == 0);
  }
  SECTION("one with a page overwritten") {
    std::fstream file(folder.file(), std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(3 * 4096);
    file << std::string(8192, '\xff');
    file.close();
    CHECK(refused().find("a damaged file") == 0);
  }
}

TEST_CASE("a data folder that cannot be is a problem at its place") {
  ScratchFolder folder;
  std::filesystem::create_directories(folder.data().parent_path());
  std::ofstream(folder.data()) << "a file where the folder should be";
  const auto refused = SqliteStore::open(folder.data());
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().place == folder.data().string());
  CHECK(refused.problem().found == "Not a directory");
}

TEST_CASE("an older record is brought up to date step by step, each step whole") {
  ScratchFolder folder;
  opened(folder);
  auto steps = record::schema_steps();
  const auto newest = static_cast<int>(steps.size()) + 2;
  steps.push_back("CREATE TABLE second (value INTEGER) STRICT; INSERT INTO second VALUES (1);");
  steps.push_back("INSERT INTO second VALUES (2);");
  const auto database = record::connect_writer(folder.file());
  CHECK(good(record::bring_up_to_date(*database, steps, [] {})) == newest);
  CHECK(good(record::bring_up_to_date(*database, steps, [] {})) == newest);
  CHECK(database->execAndGet("SELECT sum(value) FROM second").getInt() == 3);
  steps.push_back("INSERT INTO second VALUES (4); INSERT INTO third VALUES (1);");
  CHECK_THROWS_AS(record::bring_up_to_date(*database, steps, [] {}), SQLite::Exception);
  CHECK(database->execAndGet("SELECT sum(value) FROM second").getInt() == 3);
  CHECK(database->execAndGet("PRAGMA user_version").getInt() == newest);
  CHECK_FALSE(record::expect_version(*database, steps).ok());
}

TEST_CASE("a reviewer who may not write to the folder reads a closed record") {
  if (::geteuid() != 0) return;  // only root can become somebody who may not write here
  ScratchFolder folder;
  std::string serial;
  { serial = begin_fitting(*opened(folder)); }
  std::filesystem::permissions(folder.data().parent_path(), std::filesystem::perms(0755));
  std::filesystem::permissions(folder.data(), std::filesystem::perms(0755));
  std::filesystem::permissions(folder.file(), std::filesystem::perms(0644));
  CHECK(in_child([&] {
          if (::setuid(65534) != 0) return 1;
          if (SqliteStore::open(folder.data()).ok()) return 2;
          const auto reader = SqliteStore::open_to_read(folder.data());
          if (!reader.ok()) return 3;
          const auto found = reader.value()->fitting(serial);
          return found.ok() && found.value().serial == serial ? 0 : 4;
        }) == 0);
}
