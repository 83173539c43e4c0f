#include <catch2/catch.hpp>

#include <random>

#include "drivers/modbus/sample_ledger.hpp"
#include "drivers/modbus/scan_queue.hpp"

using namespace shankwright;
using modbus::HeldSamples;
using modbus::SampleLedger;

namespace {

/// What a press holds `n` samples into bite `bite`: at most 25, the newest with sequence number n - 1.
HeldSamples held_after(std::uint64_t n, std::uint16_t bite, std::uint64_t most = 25) {
  HeldSamples held;
  held.bite = bite;
  held.newest = static_cast<std::uint16_t>(n == 0 ? 0 : n - 1);
  for (std::uint64_t i = n < most ? 0 : n - most; i < n; ++i)
    held.samples.push_back({static_cast<std::uint16_t>(2 * i), static_cast<double>(i), 12.0});
  return held;
}

}  // namespace

TEST_CASE("Every sample of a bite is handed over once or counted as missing, whatever the scans see") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  for (int run = 0; run < 300; ++run) {
    SampleLedger ledger(2);
    std::uint16_t bite = static_cast<std::uint16_t>(random());
    for (int b = 0; b < 3; ++b, ++bite) {
      const int longest_step = b == 0 ? 12 : b == 1 ? 25 : 60;
      std::uint64_t n = random() % 30, handed = 0, missing = 0;
      std::uint64_t next_index = 0;
      while (n < 900) {
        ports::PressScan scan;
        ledger.take(held_after(n, bite), scan);
        missing += scan.samples_missing;
        next_index += scan.samples_missing;
        for (const ports::Sample& sample : scan.new_samples) {
          REQUIRE(sample.time_ms == 2 * next_index);
          REQUIRE(sample.pressure_bar == static_cast<double>(next_index));
          ++next_index, ++handed;
        }
        if (!scan.new_samples.empty())
          REQUIRE(scan.first_sample == static_cast<std::uint16_t>(next_index - scan.new_samples.size()));
        REQUIRE(handed + missing == n);
        n += random() % static_cast<unsigned>(longest_step + 1);
      }
      if (longest_step <= 25 && b > 0) CHECK(missing <= 5);  // only the head may have passed unseen
    }
  }
}

TEST_CASE("A scan every 40 ms loses nothing and one every 52 ms does") {
  for (const auto& [step, whole] : {std::pair{10, true}, {20, true}, {25, true}, {26, false}}) {
    SampleLedger ledger(2);
    std::uint64_t missing = 0;
    for (std::uint64_t n = 0; n < 1000; n += static_cast<unsigned>(step)) {
      ports::PressScan scan;
      ledger.take(held_after(n, 4), scan);
      missing += scan.samples_missing;
    }
    INFO("samples per scan " << step);
    CHECK((missing == 0) == whole);
  }
}

TEST_CASE("The head of a bite that was not read from its first sample is missing") {
  for (std::uint64_t n = 1; n < 200; ++n) {
    SampleLedger ledger(2);
    ports::PressScan scan;
    ledger.take(held_after(n, 9), scan);
    CHECK(scan.samples_missing == (n > 25 ? n - 25 : 0));
    CHECK(scan.first_sample == (n > 25 ? n - 25 : 0));
    CHECK(scan.sample_bite == 9);
  }
}

TEST_CASE("Sequence numbers and times wrap within a bite without a hole") {
  SampleLedger ledger(2);
  std::uint64_t handed = 0;
  ports::PressScan scan;
  for (std::uint64_t n = 0; n < 200000; n += 20) {
    ledger.take(held_after(n, 1), scan);
    REQUIRE(scan.samples_missing == 0);
    handed += scan.new_samples.size();
  }
  CHECK(handed == 199980);
  CHECK(scan.new_samples.back().time_ms == 2 * 199979);
}

TEST_CASE("Time goes on rightly over a hole longer than the time register") {
  for (const std::uint64_t hole : {1U, 100U, 20000U, 32000U}) {
    SampleLedger ledger(2);
    ports::PressScan scan;
    ledger.take(held_after(20, 1), scan);
    ledger.take(held_after(20 + hole + 25, 1), scan);
    INFO("hole of " << hole);
    CHECK(scan.samples_missing == hole);
    CHECK(scan.new_samples.front().time_ms == 2 * (20 + hole));
    CHECK(scan.new_samples.back().time_ms == 2 * (20 + hole + 24));
  }
}

TEST_CASE("The same samples seen again are not handed over again") {
  SampleLedger ledger(2);
  ports::PressScan scan;
  ledger.take(held_after(40, 1), scan);
  for (int i = 0; i < 3; ++i) {
    ledger.take(held_after(40, 1), scan);
    CHECK(scan.new_samples.empty());
    CHECK(scan.samples_missing == 0);
  }
}

TEST_CASE("A new bite begins with its sample 0, also under a number that wrapped") {
  SampleLedger ledger(2);
  ports::PressScan scan;
  ledger.take(held_after(30, 65535), scan);
  ledger.take(held_after(10, 0), scan);
  CHECK(scan.new_samples.size() == 10);
  CHECK(scan.samples_missing == 0);
  CHECK(scan.new_samples.front().time_ms == 0);
}

TEST_CASE("A bite whose numbers go back is never whole") {
  for (const std::uint64_t again : {1U, 10U, 25U, 39U}) {
    SampleLedger ledger(2);
    ports::PressScan scan;
    ledger.take(held_after(20, 1), scan);
    ledger.take(held_after(40, 1), scan);
    ledger.take(held_after(again, 1), scan);
    INFO("back to " << again << " samples");
    CHECK(scan.samples_missing >= 1);
  }
  // A press that was switched off and on again holds no samples for a while: then its bite 1 is another
  // bite 1.
  SampleLedger ledger(2);
  ports::PressScan scan;
  ledger.take(held_after(40, 1), scan);
  ledger.take(held_after(0, 0), scan);
  ledger.take(held_after(10, 1), scan);
  CHECK(scan.samples_missing == 0);
  CHECK(scan.new_samples.size() == 10);
}

TEST_CASE("A station that sleeps too long sees the lost samples as missing on its next scan") {
  modbus::ScanQueue queue(5);
  std::uint64_t sent = 0;
  for (std::uint64_t number = 1; number <= 12; ++number) {
    ports::PressScan scan;
    scan.number = number;
    scan.samples_missing = number == 3 ? 4 : 0;
    scan.new_samples.resize(10);
    sent += 10 + scan.samples_missing;
    queue.push(scan);
  }
  CHECK(queue.overflowed() == 7);
  const auto scans = queue.take();
  REQUIRE(scans.size() == 5);
  CHECK(scans.front().number == 8);
  CHECK(scans.front().samples_missing == 7 * 10 + 4);
  std::uint64_t seen = 0;
  for (const auto& scan : scans) seen += scan.new_samples.size() + scan.samples_missing;
  CHECK(seen == sent);
  CHECK(queue.take().empty());
}

TEST_CASE("A sample that reads differently the second time is evidence lost, whichever one it is") {
  for (std::size_t which = 0; which < 15; ++which) {  // of the samples that both readings hold
    for (const int part : {0, 1, 2}) {
      SampleLedger ledger(2);
      ports::PressScan scan;
      ledger.take(held_after(20, 1), scan);
      ledger.take(held_after(30, 1), scan);
      HeldSamples garbled = held_after(40, 1);
      auto& sample = garbled.samples[which];
      if (part == 0) sample.time_ms = static_cast<std::uint16_t>(sample.time_ms ^ 0x100U);
      if (part == 1) sample.pressure_bar += 25.6;
      if (part == 2) sample.gap_mm -= 0.256;
      ledger.take(garbled, scan);
      INFO("sample " << which << ", part " << part);
      CHECK(scan.samples_missing == 1);
      CHECK(scan.new_samples.size() == 10);
      ledger.take(held_after(40, 1), scan);  // read truly again: it differs from what was handed over
      CHECK(scan.samples_missing == 1);
    }
  }
}
