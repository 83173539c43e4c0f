// Goal: whichever write of one fitting's life the disk refuses, the step is refused in words, nothing half
// done is left, nothing reported as written is lost, and after a full disk has been given room the same store
// goes on. Method: one fitting from reservation to release on a simulated disk (support/simulated_disk.hpp),
// once for every write and every sync there is in it, with that one refused.
#include <sys/mount.h>
#include <unistd.h>

#include <fstream>
#include <functional>
#include <iostream>

#include "history.hpp"
#include "scratch_record.hpp"
#include "support/simulated_disk.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;
using support::SimulatedDisk;
using Refusal = SimulatedDisk::Refusal;

namespace {

// A record with one fitting in it already: the fitting under test is not the first thing ever written.
std::shared_ptr<SqliteStore> begun(const std::filesystem::path& folder, History& history) {
  auto store = good(SqliteStore::open(folder));
  REQUIRE(history.whole_fitting(*store));
  return store;
}

// One life with the nth operation of a sort refused; false when the life has fewer.
using Life = bool(std::uint64_t nth);

std::uint64_t for_every_operation(const std::function<Life>& life) {
  std::uint64_t nth = 1;
  while (life(nth)) ++nth;
  return nth - 1;
}

void check_whole(SqliteStore& store, History& history) {
  const auto fault = history.fault_of(store);
  INFO(fault);
  REQUIRE(fault.empty());
}

}  // namespace

TEST_CASE("a disk full at any write of a fitting's life is told in words and costs that step alone") {
  const bool stays_full = GENERATE(true, false);
  const auto writes = for_every_operation([&](std::uint64_t nth) {
    INFO("write " << nth << ", stays full " << stays_full);
    ScratchFolder folder;
    SimulatedDisk disk(folder.data(), nth);
    History history(nth);
    auto store = begun(folder.data(), history);
    disk.refuse(Refusal::full, nth, !stays_full);
    const bool done = history.whole_fitting(*store);
    if (disk.refused() == 0) {
      REQUIRE(done);
      return false;
    }
    if (!done) {
      CHECK(history.why().found == "no room left on the disk");
      CHECK(history.why().expected == "free space for the record; nothing of this step has been kept");
      CHECK(history.why().place == folder.file().string());
    }
    if (stays_full && !done) {
      // Refused again, in the same words, for as long as there is no room; what was written can be read.
      CHECK_FALSE(history.whole_fitting(*store));
      CHECK(history.why().found == "no room left on the disk");
      check_whole(*store, history);
    }
    disk.allow();
    check_whole(*store, history);
    REQUIRE(history.whole_fitting(*store));
    store.reset();
    disk.lose_power();
    check_whole(*good(SqliteStore::open(folder.data())), history);
    return true;
  });
  CHECK(writes > 40);
  std::cout << "disk full: refused at each of " << writes << " writes of a fitting's life\n";
}

TEST_CASE("after a write or a sync that fails nothing is written until the record has been opened anew") {
  const auto refusal = GENERATE(Refusal::failing_write, Refusal::failing_sync);
  const bool goes_on_failing = GENERATE(true, false);
  const bool power_goes = GENERATE(true, false);
  const auto operations = for_every_operation([&](std::uint64_t nth) {
    INFO("operation " << nth << ", sync " << (refusal == Refusal::failing_sync) << ", goes on failing "
                      << goes_on_failing << ", power goes " << power_goes);
    ScratchFolder folder;
    SimulatedDisk disk(folder.data(), nth);
    History history(nth);
    auto store = begun(folder.data(), history);
    disk.refuse(refusal, nth, !goes_on_failing);
    const bool done = history.whole_fitting(*store);
    if (disk.refused() == 0) {
      REQUIRE(done);
      return false;
    }
    if (!done) {
      CHECK(history.why().found.find("a disk that fails") == 0);
      CHECK(history.why().place == folder.file().string());
      const auto first = history.why();
      // Not even when the disk works again: nobody knows what it holds.
      disk.allow();
      CHECK_FALSE(history.whole_fitting(*store));
      CHECK(history.why() == first);
    }
    if (power_goes) disk.cut_power_at(disk.operations() + 1);
    store.reset();
    disk.allow();
    if (power_goes) disk.lose_power();
    store = good(SqliteStore::open(folder.data()));
    check_whole(*store, history);
    REQUIRE(history.whole_fitting(*store));
    store.reset();
    disk.lose_power();
    check_whole(*good(SqliteStore::open(folder.data())), history);
    return true;
  });
  CHECK(operations > (refusal == Refusal::failing_sync ? 5 : 40));
  std::cout << "failing disk: refused at each of " << operations
            << (refusal == Refusal::failing_sync ? " syncs" : " writes") << " of a fitting's life\n";
}

TEST_CASE("a station killed after a failed sync, started again, loses nothing to the next power loss") {
  // After the failed sync Linux goes on showing programs what never reached the disk. A record that believed
  // it would put new entries behind a gap. The process dies before it can put anything right.
  const auto operations = for_every_operation([&](std::uint64_t nth) {
    INFO("sync " << nth);
    ScratchFolder folder;
    SimulatedDisk disk(folder.data(), nth);
    History history(nth);
    auto store = begun(folder.data(), history);
    disk.refuse(Refusal::failing_sync, nth, true);
    (void)history.whole_fitting(*store);
    if (disk.refused() == 0) return false;
    disk.kill_process();
    store.reset();
    disk.start_process();
    store = good(SqliteStore::open(folder.data()));
    check_whole(*store, history);
    REQUIRE(history.whole_fitting(*store));
    disk.cut_power_at(disk.operations() + 1);
    store.reset();
    disk.lose_power();
    check_whole(*good(SqliteStore::open(folder.data())), history);
    return true;
  });
  CHECK(operations > 5);
}

TEST_CASE(
    "a small file system that really fills up is told in words, and the station goes on after room is made") {
  const ScratchFolder folder;
  std::filesystem::create_directories(folder.data());
  const auto outcome = [&]() -> std::string {
    if (::geteuid() != 0) return "skipped: only root mounts file systems";
    if (::mount("shankwright-test", folder.data().c_str(), "tmpfs", MS_NOSUID | MS_NODEV,
                "size=1m,mode=0700") != 0)
      return "skipped: this system does not let a test mount a file system";
    struct Mounted {
      std::filesystem::path where;
      ~Mounted() { ::umount2(where.c_str(), MNT_DETACH); }
    } const mounted{folder.data()};
    const auto ballast = folder.data() / "ballast";
    std::ofstream(ballast) << std::string(300'000, 'x');
    History history(7);
    auto opening = SqliteStore::open(folder.data());
    if (!opening) return opening.problem().text();
    auto& store = *opening.value();
    int fittings = 0;
    while (history.whole_fitting(store)) ++fittings;
    if (history.why().found != "no room left on the disk") return "told as " + history.why().text();
    if (const auto fault = history.fault_of(store); !fault.empty()) return fault;
    std::filesystem::remove(ballast);
    if (!history.whole_fitting(store)) return "does not go on: " + history.why().text();
    if (const auto fault = history.fault_of(store); !fault.empty()) return fault;
    return fittings > 0 ? "passed" : "no room for one fitting";
  }();
  std::cout << "a full tmpfs: " << outcome << '\n';
  CHECK((outcome == "passed" || outcome.find("skipped: ") == 0));
}
