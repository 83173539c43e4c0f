#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>

#include "driven_press.hpp"

using namespace shankwright;
using ports::LinkState;
using test::Child;
using test::DrivenPress;
using test::PressNode;

namespace {

/// Two pseudo-terminals joined by socat: the nearest thing to a cable that a test can have.
struct Cable {
  std::filesystem::path folder;
  std::unique_ptr<Child> socat;
  Cable() {
    char name[] = "/tmp/shankwright-cable-XXXXXX";
    REQUIRE(mkdtemp(name) != nullptr);
    folder = name;
    plug_in();
  }
  Cable(const Cable&) = delete;
  Cable& operator=(const Cable&) = delete;
  ~Cable() {
    socat.reset();
    std::filesystem::remove_all(folder);
  }
  void plug_in() {
    socat = std::make_unique<Child>(std::vector<std::string>{"socat", "pty,rawer,link=" + station_end(),
                                                             "pty,rawer,link=" + press_end()});
    for (int i = 0; i < 500; ++i) {
      if (std::filesystem::exists(station_end()) && std::filesystem::exists(press_end())) return;
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    FAIL("socat made no pseudo-terminals");
  }
  [[nodiscard]] std::string station_end() const { return (folder / "station").string(); }
  [[nodiscard]] std::string press_end() const { return (folder / "press").string(); }
};

}  // namespace

TEST_CASE("A press on a serial line is scanned, permitted and read out like any other") {
  Cable cable;
  PressNode node({"--rtu", cable.press_end(), "--auto-hands"});
  DrivenPress driven("rtu:" + cable.station_end() + ":115200:8N1");
  REQUIRE(driven.until_connected());
  const std::uint16_t token = driven.send(DrivenPress::permit());
  REQUIRE(driven.until([](const auto& scan) { return scan.bite_number == 1 && scan.phase == 1; }));
  std::uint64_t handed = 0, missing = 0;
  for (const auto& scan : driven.scans) {
    if (scan.sample_bite != 1) continue;
    handed += scan.new_samples.size();
    missing += scan.samples_missing;
  }
  const auto truth = node.get();
  CHECK(handed + missing == truth.at("sequence").get<std::uint64_t>() + 1);
  CHECK(handed > 25);
  CHECK(truth.at("permit_echo") == token);
  CHECK(truth.at("reads").size() == 2);
}

TEST_CASE("A late answer on a serial line is never taken for the next one, and the line recovers") {
  Cable cable;
  PressNode node({"--rtu", cable.press_end()});
  DrivenPress driven("rtu:" + cable.station_end() + ":115200:8N1");
  REQUIRE(driven.until_connected());
  node.ask({{"fault", "delay"}, {"ms", 90}, {"for_ms", 400}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link != LinkState::connected; }));
  REQUIRE(driven.until_connected());
  node.ask({{"set", {{"die_tag", 222}}}});
  const std::int64_t changed_us = driven.clock.monotonic_us();
  REQUIRE(driven.until([&](const auto& scan) {
    return scan.link == LinkState::connected && scan.at_monotonic_us > changed_us + 90000;
  }));
  CHECK(driven.scans.back().die_tag == 222);
}

TEST_CASE("Noise on a serial line is caught by the CRC: the link goes and comes, no value is ever wrong") {
  Cable cable;
  PressNode node({"--rtu", cable.press_end(), "--seed", "5"});
  DrivenPress driven("rtu:" + cable.station_end() + ":115200:8N1");
  REQUIRE(driven.until_connected());
  for (const char* fault : {"garble", "half", "silent"}) {
    INFO(fault);
    node.ask({{"fault", fault}});
    REQUIRE(driven.until([](const auto& scan) { return scan.link != LinkState::connected; }));
    node.ask({{"clear_faults", true}});
    REQUIRE(driven.until_connected());
  }
  for (const auto& scan : driven.scans) {
    if (scan.at_monotonic_us == 0) continue;  // before the first answer
    REQUIRE(scan.die_tag == 101);
    REQUIRE(scan.oil_temperature_c == 38.5);
    REQUIRE(scan.phase == 1);
  }
}

TEST_CASE("A serial line that is pulled out is lost, and found again when it is back") {
  Cable cable;
  auto node = std::make_unique<PressNode>(std::vector<std::string>{"--rtu", cable.press_end()});
  DrivenPress driven("rtu:" + cable.station_end() + ":115200:8N1");
  REQUIRE(driven.until_connected());
  cable.socat.reset();
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::lost; }));
  cable.plug_in();
  node = std::make_unique<PressNode>(std::vector<std::string>{"--rtu", cable.press_end()});
  REQUIRE(driven.until_connected());
}
