#include "driven_press.hpp"

using namespace shankwright;
using test::DrivenPress;
using test::PressNode;

// The node is tests/drivers/pymodbus_node.py, written against the reference press map on another Modbus
// implementation.

namespace {

struct Gathered {
  std::vector<ports::Sample> samples;
  std::uint64_t missing = 0;
};
Gathered of_bite(const std::vector<ports::PressScan>& scans, std::uint16_t bite) {
  Gathered out;
  for (const auto& scan : scans) {
    if (scan.sample_bite != bite) continue;
    out.samples.insert(out.samples.end(), scan.new_samples.begin(), scan.new_samples.end());
    out.missing += scan.samples_missing;
  }
  return out;
}

/// One permitted bite from start to end; returns its number.
std::uint16_t bite(DrivenPress& driven) {
  const std::uint16_t before = driven.scans.back().bite_number;
  driven.send(DrivenPress::permit());
  REQUIRE(driven.until([&](const auto& scan) { return scan.bite_number != before && scan.phase == 1; }));
  return driven.scans.back().bite_number;
}

}  // namespace

TEST_CASE("Every sample of a bite is gathered, scanning every 20 ms and every 40 ms") {
  for (const int period_ms : {20, 40}) {
    PressNode node({"--auto-hands", "--seed", std::to_string(period_ms)});
    bool whole = false;
    // A machine that starves the driver for longer than the press's memory makes a true hole; the bite is
    // then tried again. That samples and holes add up is required of every bite.
    for (int attempt = 0; attempt < 6 && !whole; ++attempt) {
      DrivenPress driven(node.address(), [&](auto& options) {
        options.scan_period_ms = period_ms;
        options.frozen_beat_ms = 200;
      });
      REQUIRE(driven.until_connected());
      const std::uint16_t number = bite(driven);
      const auto truth = node.get();
      const Gathered gathered = of_bite(driven.scans, number);
      REQUIRE(truth.at("sample_bite") == number);
      REQUIRE(gathered.samples.size() + gathered.missing == truth.at("sequence").get<std::size_t>() + 1);
      REQUIRE(gathered.samples.size() > 25);
      whole = gathered.missing == 0;
      const std::int64_t gap_us = driven.press->statistics().longest_scan_gap_us;
      INFO("period " << period_ms << " ms, longest time between scans " << gap_us << " us");
      CHECK((whole || gap_us > 30000));  // a driver that scanned in time has no excuse
      if (!whole) continue;
      double peak_bar = 0;
      for (std::size_t i = 0; i < gathered.samples.size(); ++i) {
        REQUIRE(gathered.samples[i].time_ms == gathered.samples[0].time_ms + 2 * i);
        peak_bar = std::max(peak_bar, gathered.samples[i].pressure_bar);
      }
      CHECK(peak_bar == driven.scans.back().peak_pressure_bar);
      CHECK(driven.scans.back().permit_state == 3);
      CHECK(driven.scans.back().fault_code == 0);
      CHECK(driven.scans.back().dwell_done_ms == 100);
    }
    CHECK(whole);
  }
}

TEST_CASE("Holes that the press makes are found and add up") {
  PressNode node({"--auto-hands", "--seed", "11"});
  node.ask({{"fault", "holes"}});
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  std::uint64_t holes = 0;
  for (int i = 0; i < 3; ++i) {
    const std::uint16_t number = bite(driven);
    const Gathered gathered = of_bite(driven.scans, number);
    REQUIRE(gathered.samples.size() + gathered.missing == node.get().at("sequence").get<std::size_t>() + 1);
    holes += gathered.missing;
  }
  CHECK(holes >= 30);
}

TEST_CASE("A bite that was running before the driver came has a head nobody read") {
  PressNode node;
  node.ask({{"set", {{"both_hands_on", true}}}, {"begin_bite", true}});
  for (int i = 0; i < 100 && node.get().at("sequence").get<int>() < 60; ++i)
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  DrivenPress driven(node.address());
  REQUIRE(driven.until([](const auto& scan) { return scan.samples_missing > 0; }));
  const ports::PressScan& first = driven.scans.back();
  CHECK(first.samples_missing + 25 >= 60);
  CHECK(first.first_sample == first.samples_missing);
  CHECK(first.new_samples.size() == 25);
}

TEST_CASE("The beat is kept while nobody takes scans, and a permit lives on it") {
  PressNode node;
  DrivenPress driven(node.address(), [](auto& options) { options.queued_scans = 10; });
  REQUIRE(driven.until_connected());
  driven.send(DrivenPress::permit());
  REQUIRE(driven.until([](const auto& scan) { return scan.permit_state == 1; }));
  node.ask({{"forget_writes", true}});
  std::this_thread::sleep_for(std::chrono::milliseconds(1500));  // the station's thread waits for a disk
  const auto truth = node.get();
  CHECK(truth.at("beat_longest_ms").get<double>() < 250);  // what the map asks for
  CHECK(truth.at("beats").get<int>() >= 6);
  CHECK(truth.at("permit_state") == 1);  // the node would have withdrawn it (4) and raised fault 5
  CHECK(truth.at("fault_code") == 0);
  CHECK(driven.press->statistics().queue_overflows > 0);
}

TEST_CASE("The press is read in one request per scan and written with functions 06 and 16 alone") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  driven.send(DrivenPress::permit());
  REQUIRE(driven.until([](const auto& scan) { return scan.permit_state == 1; }));
  const auto truth = node.get();
  CHECK(truth.at("reads").size() == 2);
  CHECK(truth.at("reads").at("4:0:100").get<int>() >= 3);
  CHECK(truth.at("reads").at("3:0:10") == 1);
  CHECK(truth.at("functions").size() == 4);
  CHECK(truth.at("functions").at("16") == 1);
}

TEST_CASE("Scans keep to their grid and those that could not be made are counted") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  const auto before = driven.press->statistics();
  const std::int64_t start_us = driven.clock.monotonic_us();
  std::this_thread::sleep_for(std::chrono::milliseconds(2000));
  const auto after = driven.press->statistics();
  const auto due = (driven.clock.monotonic_us() - start_us) / 20000;
  const auto accounted =
      static_cast<std::int64_t>(after.scans + after.missed_scans + after.timeouts + after.garbled -
                                before.scans - before.missed_scans - before.timeouts - before.garbled);
  CHECK(std::abs(accounted - due) <= 3);  // the ends of the interval, and a scan still under way
}
