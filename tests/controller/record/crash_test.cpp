// Goal: nothing that append(), append_and_seal() or reserve_serial() has returned for is lost, whatever
// moment the station dies at. Method: a child process works on the record and reports each call after it has
// returned, through a pipe; it is killed (SIGKILL) at a moment drawn from a seed; then the record is opened
// and compared with what was reported. A kill shows that nothing waits in the process's memory; what a loss
// of power takes is the question of power_loss_test.cpp.
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <map>
#include <set>
#include <thread>

#include "record/serial.hpp"
#include "record/verify.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;

namespace {

// Small enough (PIPE_BUF) for the pipe to take it whole or not at all.
struct Report {
  char what = 0;  // 's' serial reserved, 'e' entry appended, 'z' fitting sealed with all before
  std::int64_t number = 0, sequence = 0;
};

void report(int pipe, const Report& done) {
  if (::write(pipe, &done, sizeof(done)) != sizeof(done)) ::_exit(3);
}

ports::NewEntry numbered(const std::string& serial, std::int64_t number) {
  auto entry = entry_of(serial, "entry-" + std::to_string(number), number);
  entry.body_json = "{\"number\":" + std::to_string(number) + ",\"filling\":\"" +
                    std::string(static_cast<std::size_t>(number % 997), 'x') + "\"}";
  if (number % 3 == 0)
    for (std::uint32_t index = 0; index < 40; ++index)
      entry.trace.push_back({index * 2, static_cast<double>((number + index) % 4000) / 10.0, index / 1000.0});
  return entry;
}

// Runs in the child until it is killed. No test macros here: the child must not report as the test.
[[noreturn]] void work(const std::filesystem::path& folder, int pipe, std::int64_t first) {
  const auto store = record::SqliteStore::open(folder);
  if (!store.ok()) ::_exit(1);
  for (std::int64_t number = first;; number += 20) {
    const auto serial = store.value()->reserve_serial(number);
    if (!serial.ok()) ::_exit(2);
    report(pipe, {'s', *record::number_of(serial.value()), 0});
    if (!store.value()->open_fitting(row_of(serial.value()), numbered(serial.value(), number)).ok())
      ::_exit(2);
    report(pipe, {'e', number, -1});
    for (std::int64_t next = number + 1; next < number + 10; next += 2) {
      const auto last =
          store.value()->append({numbered(serial.value(), next), numbered(serial.value(), next + 1)});
      if (!last.ok()) ::_exit(2);
      report(pipe, {'e', next, last.value() - 1});
      report(pipe, {'e', next + 1, last.value()});
    }
    if (!store.value()
             ->append_and_seal({numbered(serial.value(), number + 11), numbered(serial.value(), number + 12)},
                               "release")
             .ok())
      ::_exit(2);
    report(pipe, {'e', number + 11, -1});
    report(pipe, {'e', number + 12, -1});
    report(pipe, {'z', number, 0});
  }
}

// When to kill: after so many reports (so that a slow disk is given its time) and then a moment more.
struct Moment {
  std::size_t reports = 0;
  std::chrono::microseconds more{0};
};

// What the child reported before it died.
std::vector<Report> kill_at(const std::filesystem::path& folder, std::int64_t first, const Moment& moment) {
  std::array<int, 2> ends{};
  REQUIRE(::pipe(ends.data()) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    ::close(ends[0]);
    work(folder, ends[1], first);
  }
  ::close(ends[1]);
  std::vector<Report> reports;
  const auto take = [&] {
    Report done;
    const bool whole = ::read(ends[0], &done, sizeof(done)) == sizeof(done);
    if (whole) reports.push_back(done);
    return whole;
  };
  while (reports.size() < moment.reports && take()) {
  }
  std::this_thread::sleep_for(moment.more);
  ::kill(child, SIGKILL);
  while (take()) {
  }
  ::close(ends[0]);
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  INFO("the child ended by itself with " << status);
  REQUIRE(WIFSIGNALED(status));
  REQUIRE(WTERMSIG(status) == SIGKILL);
  return reports;
}

}  // namespace

TEST_CASE("nothing that was reported as written is lost when the station is killed at any moment") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  ScratchFolder folder;
  std::set<std::int64_t> serials_given;
  std::vector<std::pair<std::int64_t, std::int64_t>> entries_reported;  // number, sequence
  std::vector<std::int64_t> sealed;                                     // the first number of each
  std::int64_t first = 1;
  constexpr int kills = 60;
  for (int kill = 0; kill < kills; ++kill) {
    // Every fourth kill falls into the opening, and so into the recovery from the kill before.
    const auto microseconds = std::uniform_int_distribution<int>(0, kill % 4 == 0 ? 12'000 : 2'000)(random);
    const auto count = kill % 4 == 0 ? 0 : std::uniform_int_distribution<std::size_t>(1, 120)(random);
    const auto reports = kill_at(folder.data(), first, {count, std::chrono::microseconds(microseconds)});
    for (const auto& done : reports) {
      if (done.what == 's') {
        INFO("serial " << done.number << " given again after kill " << kill);
        REQUIRE(serials_given.insert(done.number).second);
      } else if (done.what == 'z') {
        sealed.push_back(done.number);
      } else {
        entries_reported.emplace_back(done.number, done.sequence);
      }
    }
    first += 1'000'000;  // numbers never repeat, so that each entry is known
  }
  const auto store = opened(folder);
  REQUIRE_FALSE(good(store->check_chain()).broken);
  std::map<std::int64_t, ports::StoredEntry> found;
  for (const auto& serial : good(store->serials()))
    for (const auto& stored : good(store->entries(serial, true))) found[stored.entry.at_utc_us] = stored;
  for (const auto& [number, sequence] : entries_reported) {
    INFO("entry " << number);
    REQUIRE(found.count(number) == 1);
    const auto& stored = found[number];
    const auto expected = numbered(stored.entry.serial, number);
    REQUIRE(stored.entry.body_json == expected.body_json);
    REQUIRE(stored.entry.trace == expected.trace);
    if (sequence > 0) REQUIRE(stored.sequence == sequence);
  }
  // Two entries appended together are there together, whether or not the call lived to report it.
  for (const auto& [number, stored] : found)
    if (number % 2 == 0) REQUIRE(found.count(number + 1) == 1);
  CHECK(sealed.size() > kills);
  for (const auto number : sealed) {
    INFO("fitting of entry " << number);
    REQUIRE(found.count(number) == 1);
    REQUIRE(store->seal_over(found[number].entry.serial).ok());
  }
  record::VerifyWish wish;
  wish.record = folder.data();
  const auto verified = good(record::verify(wish));
  CHECK(verified.sound());
  CHECK(verified.seals >= static_cast<std::int64_t>(sealed.size()));
  CHECK(entries_reported.size() > std::size_t{10} * kills);
  CHECK(*record::number_of(good(store->reserve_serial(1))) > *serials_given.rbegin());
}
