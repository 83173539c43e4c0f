// Goal: a copy made while the station writes is the record as it was at one moment, whole and checked, or is
// not there at all; and the way back from it loses nothing that it holds and gives no serial a second time.
#include "record/backup.hpp"

#include <sys/mount.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <fstream>
#include <functional>
#include <iostream>
#include <set>
#include <thread>

#include "history.hpp"
#include "record/archive.hpp"
#include "record/serial.hpp"
#include "scratch_record.hpp"
#include "support/simulated_disk.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;
using support::SimulatedDisk;

namespace {

using std::filesystem::path;

std::set<std::string> names_in(const path& folder) {
  std::set<std::string> out;
  for (const auto& item : std::filesystem::directory_iterator(folder)) out.insert(item.path().filename());
  return out;
}

path place_for_copies(const ScratchFolder& folder) {
  const auto place = folder.data().parent_path() / "elsewhere";
  std::filesystem::create_directories(place);
  return place;
}

std::string bytes_of_file(const path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// Sequence, hash: what an entry is, without the words.
std::vector<std::pair<std::int64_t, std::string>> chain_in(const path& file) {
  SQLite::Database database(file.string());
  SQLite::Statement rows(database, "SELECT sequence, hex(hash) FROM entries ORDER BY sequence");
  std::vector<std::pair<std::int64_t, std::string>> out;
  while (rows.executeStep()) out.emplace_back(rows.getColumn(0).getInt64(), rows.getColumn(1).getString());
  return out;
}

record::RestoreWish wish(const path& copy, const path& folder, std::int64_t skip) {
  record::RestoreWish out;
  out.copy = copy;
  out.folder = folder;
  out.skip_serials = skip;
  out.actor = "maria";
  out.at_utc_us = 99;
  return out;
}

}  // namespace

TEST_CASE("a copy holds the record as it was when copying began, and stands by itself") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  const auto store = opened(folder);
  History history(5);
  for (int fitting = 0; fitting < 4; ++fitting) REQUIRE(history.whole_fitting(*store));
  // The station goes on in the middle of it: one entry for every slice.
  std::size_t slices = 0;
  const auto report = good(record::back_up(
      folder.data(), place / "copy.sqlite3",
      [&](std::uint64_t done, std::uint64_t all) {
        if (done < all)
          good(store->append({entry_of("", "started", static_cast<std::int64_t>(++slices) + 100'000)}));
      },
      {.pages_a_slice = 2, .pause_ms = 0, .pages_a_sync = 8}));
  CHECK(slices > 10);
  CHECK(names_in(place) == std::set<std::string>{"copy.sqlite3"});
  const auto source = chain_in(folder.file());
  const auto copy = chain_in(report.file);
  REQUIRE(copy.size() + slices == source.size());
  CHECK(std::equal(copy.begin(), copy.end(), source.begin()));
  CHECK(report.newest == copy.back().first);
  CHECK(report.entries_checked == static_cast<std::int64_t>(copy.size()));
  CHECK(report.bytes == std::filesystem::file_size(report.file));
  // Nothing beside it is needed, and reading it leaves nothing there.
  CHECK(names_in(place) == std::set<std::string>{"copy.sqlite3"});
  CHECK((std::filesystem::status(report.file).permissions() & std::filesystem::perms::all) ==
        (std::filesystem::perms::owner_read | std::filesystem::perms::owner_write));
}

TEST_CASE("nothing is overwritten, and a copy that cannot be made leaves nothing behind") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  CHECK_FALSE(record::back_up(folder.data(), place / "copy.sqlite3").ok());
  CHECK_FALSE(std::filesystem::exists(folder.data()));
  { begin_fitting(*opened(folder)); }
  std::ofstream(place / "taken.sqlite3") << "mine";
  const auto refused = record::back_up(folder.data(), place / "taken.sqlite3");
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found == "a file of that name");
  CHECK(bytes_of_file(place / "taken.sqlite3") == "mine");
  CHECK_FALSE(record::back_up(folder.data(), place / "no" / "such" / "folder.sqlite3").ok());
  std::filesystem::create_symlink(place / "nowhere", place / "link.sqlite3");
  CHECK_FALSE(record::back_up(folder.data(), place / "link.sqlite3").ok());
  CHECK(names_in(place) == std::set<std::string>{"taken.sqlite3", "link.sqlite3"});
}

TEST_CASE("a disk full or failing at any write of the copy is told in words and leaves nothing behind") {
  const auto refusal = GENERATE(SimulatedDisk::Refusal::full, SimulatedDisk::Refusal::failing_write);
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  {
    const auto store = opened(folder);
    History history(6);
    REQUIRE(history.whole_fitting(*store));
  }
  // The copy's own name is real; its pages go to the simulated disk, which refuses them one after the other.
  std::uint64_t refused = 0;
  for (std::uint64_t nth = 1;; ++nth) {
    INFO("write " << nth);
    SimulatedDisk disk(place, nth);
    disk.refuse(refusal, nth, false);
    const auto copy = record::back_up(folder.data(), place / "copy.sqlite3");
    if (disk.refused() == 0) {
      REQUIRE(copy.ok());
      break;
    }
    REQUIRE_FALSE(copy.ok());
    CHECK(names_in(place).empty());
    ++refused;
    if (refusal == SimulatedDisk::Refusal::full)
      CHECK(copy.problem().found == "no room left on the disk");
    else
      CHECK(copy.problem().found.find("a copy that failed: ") == 0);
  }
  CHECK(refused > 10);
}

TEST_CASE("a target disk that is really full is told in words") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  const auto store = opened(folder);
  History history(6);
  for (int fitting = 0; fitting < 8; ++fitting) REQUIRE(history.whole_fitting(*store));
  if (::geteuid() != 0 ||
      ::mount("shankwright-test", place.c_str(), "tmpfs", MS_NOSUID | MS_NODEV, "size=64k") != 0) {
    std::cout << "skipped: this test needs to mount a small file system\n";
    return;
  }
  const auto copy = record::back_up(folder.data(), place / "copy.sqlite3");
  const auto left = names_in(place);
  ::umount2(place.c_str(), MNT_DETACH);
  REQUIRE_FALSE(copy.ok());
  CHECK(copy.problem().found.find("room for ") == 0);
  CHECK(left.empty());
}

TEST_CASE("a record that is not sound is not copied") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  {
    const auto store = opened(folder);
    begin_fitting(*store);
    begin_fitting(*store);
  }
  {
    SQLite::Database database(folder.file().string(), SQLite::OPEN_READWRITE);
    database.exec("DROP TRIGGER entries_stay; UPDATE entries SET actor = 'somebody else' WHERE sequence = 2");
  }
  const auto copy = record::back_up(folder.data(), place / "copy.sqlite3");
  REQUIRE_FALSE(copy.ok());
  CHECK(copy.problem().found == "a copy that is not sound: entry 2: its content does not match its hash");
  CHECK(names_in(place).empty());
}

TEST_CASE("drill: copy while pressing, lose the folder, restore, verify, go on, and give no serial twice") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  std::vector<std::pair<std::int64_t, std::string>> original;
  std::set<std::string> given;
  record::BackupReport copy;
  std::string last_given;
  {
    const auto store = opened(folder);
    for (int index = 0; index < 30; ++index) given.insert(begin_fitting(*store, index + 1));
    std::atomic<bool> copied = false;
    std::atomic<int> faults = 0, after = 0;
    std::thread pressing([&] {
      // Serials go on being given while the copy is made, and after it: those it cannot know.
      for (int index = 0; !copied || after < 5; ++index) {
        const auto serial = store->reserve_serial(1000 + index);
        faults += !serial.ok();
        if (!serial.ok()) return;
        given.insert(serial.value());
        last_given = serial.value();
        after += copied ? 1 : 0;
      }
    });
    const auto made =
        record::back_up(folder.data(), place / "copy.sqlite3", {}, {.pages_a_slice = 4, .pause_ms = 1});
    copied = true;
    pressing.join();
    copy = good(made);
    CHECK(faults == 0);
    original = chain_in(folder.file());
  }
  std::filesystem::remove_all(folder.data());
  const auto before = bytes_of_file(copy.file);

  auto wanted = wish(copy.file, folder.data(), 2);
  wanted.last_serial = last_given;
  const auto too_few = record::restore(wanted);
  REQUIRE_FALSE(too_few.ok());  // more serials than that are known to be on labels
  CHECK(too_few.problem().place == "skipped serials");
  CHECK(names_in(folder.data().parent_path()) == std::set<std::string>{"elsewhere"});

  wanted.skip_serials = 100'000;
  const auto restored = good(record::restore(wanted));
  CHECK(restored.copied_until == copy.newest);
  CHECK(bytes_of_file(copy.file) == before);
  const auto store = opened(folder);
  CHECK_FALSE(good(store->check_chain()).broken);
  const auto chain = chain_in(folder.file());
  REQUIRE(chain.size() == static_cast<std::size_t>(copy.newest) + 2);
  CHECK(std::equal(chain.begin(), chain.end() - 2, original.begin()));
  for (int index = 0; index < 20; ++index) {
    const auto serial = begin_fitting(*store, 5000 + index);
    INFO(serial << " was on a label already");
    REQUIRE(given.insert(serial).second);
  }
  const auto own = good(store->entries("", false));
  const auto said = std::find_if(own.begin(), own.end(),
                                 [](const auto& stored) { return stored.entry.event == "restored"; });
  REQUIRE(said != own.end());
  CHECK(said->entry.actor == "maria");
  CHECK(said->entry.body_json.find(restored.last_serial_skipped) != std::string::npos);
  CHECK(History::index_fault_of(*store).empty());
}

TEST_CASE("without skipping, a restored record would give a serial of a label once more") {
  // Why restore skips: this is what plain copying back does.
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  std::string on_a_label;
  {
    const auto store = opened(folder);
    begin_fitting(*store);
    good(record::back_up(folder.data(), place / "copy.sqlite3"));
    on_a_label = begin_fitting(*store);
  }
  std::filesystem::remove_all(folder.data());
  SECTION("skipping none") {
    good(record::restore(wish(place / "copy.sqlite3", folder.data(), 0)));
    CHECK(begin_fitting(*opened(folder)) == on_a_label);
  }
  SECTION("skipping some") {
    good(record::restore(wish(place / "copy.sqlite3", folder.data(), 10)));
    CHECK(record::number_of(begin_fitting(*opened(folder))) == *record::number_of(on_a_label) + 10);
  }
}

TEST_CASE("what is not a sound copy, or not an empty place, is refused and nothing is touched") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  { begin_fitting(*opened(folder)); }
  good(record::back_up(folder.data(), place / "copy.sqlite3"));
  const auto refused = record::restore(wish(place / "copy.sqlite3", folder.data(), 10));
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found == "a folder that is not empty");
  const auto fresh = place / "data";
  auto bytes = bytes_of_file(place / "copy.sqlite3");
  const auto where = bytes.find("hexagon-4.8");
  REQUIRE(where != std::string::npos);
  bytes[where] = 'H';
  std::ofstream(place / "altered.sqlite3", std::ios::binary) << bytes;
  std::ofstream(place / "short.sqlite3", std::ios::binary) << bytes.substr(0, bytes.size() / 2);
  std::ofstream(place / "empty.sqlite3");
  for (const auto* name : {"altered.sqlite3", "short.sqlite3", "empty.sqlite3", "none.sqlite3"}) {
    const auto problem = record::restore(wish(place / name, fresh, 10));
    INFO(name << ": " << (problem.ok() ? "restored" : problem.problem().text()));
    REQUIRE_FALSE(problem.ok());
    CHECK(problem.problem().place == (place / name).string());
    CHECK_FALSE(std::filesystem::exists(fresh));
  }
  CHECK(names_in(place).size() == 4);
  good(record::restore(wish(place / "copy.sqlite3", fresh, 10)));
}

TEST_CASE("closed periods go with the copy and come back with it") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  std::string old_serial, new_serial;
  {
    const auto store = opened(folder);
    History history(3);
    REQUIRE(history.whole_fitting(*store));
    old_serial = good(store->serials()).front();
  }
  good(record::close_period(folder.data(), "maria", 50));
  { new_serial = begin_fitting(*opened(folder)); }
  CHECK(good(record::back_up(folder.data(), place / "first.sqlite3")).closed_files == 1);
  CHECK(good(record::back_up(folder.data(), place / "second.sqlite3")).closed_files == 1);  // there already
  CHECK(names_in(place / "archive").size() == 1);
  std::filesystem::remove_all(folder.data());
  good(record::restore(wish(place / "second.sqlite3", folder.data(), 10)));
  const auto store = opened(folder);
  CHECK_FALSE(good(store->entries(old_serial, true)).empty());
  CHECK_FALSE(good(store->entries(new_serial, true)).empty());
  // A file of that name with other content is somebody else's.
  for (const auto& item : std::filesystem::directory_iterator(place / "archive"))
    std::ofstream(item.path(), std::ios::app) << "x";
  const auto refused = record::back_up(folder.data(), place / "third.sqlite3");
  REQUIRE_FALSE(refused.ok());
  CHECK(names_in(place) == std::set<std::string>{"archive", "first.sqlite3", "second.sqlite3"});
}

// Not run by itself (no test is judged by time): record_torture_test "[.measure]" prints how long an append
// takes at most while a large record is copied, beside the same appends with nobody copying.
TEST_CASE("how long a permit waits while a large record is copied", "[.measure]") {
  ScratchFolder folder;
  const auto place = place_for_copies(folder);
  std::string serial;
  {
    const auto store = opened(folder, {.fill_without_safety = true});
    serial = begin_fitting(*store);
    std::mt19937_64 random(1);
    auto large = entry_of(serial, "large");
    for (int index = 0; index < 4000; ++index) {
      large.body_json = std::string(100'000, static_cast<char>('a' + index % 26));
      good(store->append({large}));
    }
    REQUIRE_FALSE(store->finish_filling());
  }
  const auto store = opened(folder);
  const auto appends_until = [&](const std::function<bool()>& over) {
    std::vector<double> out;
    while (!over()) {
      const auto begin = std::chrono::steady_clock::now();
      good(store->append({entry_of(serial, "rope_diameter"), entry_of(serial, "permit_durable")}));
      out.push_back(
          std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count());
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    std::sort(out.begin(), out.end());
    return out;
  };
  const auto told = [](const char* when, const std::vector<double>& times) {
    std::cout << when << ": " << times.size() << " appends, median " << times[times.size() / 2] << " ms, p99 "
              << times[times.size() * 99 / 100] << " ms, longest " << times.back() << " ms\n";
  };
  const auto alone_until = std::chrono::steady_clock::now() + std::chrono::seconds(8);
  const auto alone = appends_until([&] { return std::chrono::steady_clock::now() > alone_until; });
  std::atomic<bool> copied = false;
  double seconds = 0;
  bool sound = false;
  std::thread copying([&] {
    const auto begin = std::chrono::steady_clock::now();
    sound = record::back_up(folder.data(), place / "copy.sqlite3").ok();
    seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    copied = true;
  });
  const auto beside = appends_until([&] { return copied.load(); });
  copying.join();
  REQUIRE(sound);
  std::cout << std::filesystem::file_size(place / "copy.sqlite3") / 1'000'000 << " MB copied and checked in "
            << seconds << " s\n";
  told("nobody copying", alone);
  told("while copying", beside);
}
