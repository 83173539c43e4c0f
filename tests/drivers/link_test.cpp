#include <map>

#include "driven_press.hpp"
#include "drivers/modbus/client.hpp"

using namespace shankwright;
using ports::LinkState;
using test::DrivenPress;
using test::FaultProxy;
using test::PressNode;

TEST_CASE("A press that never answered is told as never connected, with why, again and again") {
  DrivenPress driven("tcp:127.0.0.1:1");  // nobody listens there
  int told = 0;
  std::int64_t last_us = 0, longest_us = 0;
  REQUIRE(driven.until([&](const auto& scan) {
    CHECK(scan.link == LinkState::never_connected);
    CHECK_THAT(scan.link_problem, Catch::Contains("cannot connect"));
    const std::int64_t now_us = driven.clock.monotonic_us();
    if (last_us != 0) longest_us = std::max(longest_us, now_us - last_us);
    last_us = now_us;
    return ++told == 6;
  }));
  CHECK(driven.press->next_token() == 0);
}

TEST_CASE("A lost link is told at once, told again, and found again by itself") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  const ports::PressScan before = driven.scans.back();
  node.ask({{"fault", "refuse"}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::lost; }));
  const ports::PressScan lost = driven.scans.back();
  CHECK(lost.link_losses == before.link_losses + 1);
  CHECK_FALSE(lost.link_problem.empty());
  CHECK_FALSE(lost.beat_moving);
  CHECK(lost.die_tag == 101);  // the last values, with the time they were true
  CHECK(lost.at_monotonic_us <= driven.clock.monotonic_us());
  CHECK(driven.press->next_token() == 0);
  int again = 0;
  REQUIRE(driven.until([&](const auto& scan) { return scan.link == LinkState::lost && ++again == 5; }));
  node.ask({{"clear_faults", true}});
  REQUIRE(driven.until_connected());
  CHECK(driven.scans.back().link_losses == lost.link_losses);
  for (std::size_t i = 1; i < driven.scans.size(); ++i)
    REQUIRE(driven.scans[i].number == driven.scans[i - 1].number + 1);
}

TEST_CASE("A dropped connection is taken up again before the evidence is old") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  node.ask({{"fault", "drop"}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::lost; }));
  const std::size_t lost = driven.scans.size();
  REQUIRE(driven.until_connected());
  // One scan says lost, one has not seen the beat move yet; no back-off after a connection that worked.
  CHECK(driven.press->statistics().reconnects == 2);
  CHECK(driven.scans.size() - lost <= 6);
}

TEST_CASE("A silent press makes the link stale, then lost, and it comes back") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  node.ask({{"fault", "silent"}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::stale; }));
  CHECK_THAT(driven.scans.back().link_problem, Catch::Contains("no answer within 60 ms"));
  CHECK(driven.scans.back().link_losses == 1);
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::lost; }));
  CHECK(driven.scans.back().link_losses == 1);
  node.ask({{"clear_faults", true}});
  REQUIRE(driven.until_connected());
}

TEST_CASE("Every exception on the scan is named in words and the connection stays") {
  PressNode node;
  for (const int code : {1, 2, 3, 4, 5, 6, 8, 10, 11}) {
    INFO("exception " << code);
    DrivenPress driven(node.address());
    REQUIRE(driven.until_connected());
    node.ask({{"fault", "exception_read"}, {"code", code}});
    REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::stale; }));
    CHECK_THAT(driven.scans.back().link_problem, Catch::Contains(modbus::exception_words(code)));
    node.ask({{"clear_faults", true}});
    REQUIRE(driven.until_connected());
    CHECK(driven.press->statistics().reconnects == 1);
  }
  node.ask({{"fault", "exception"}, {"code", 2}});  // from the first request on
  DrivenPress driven(node.address());
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::stale; }));
  CHECK_THAT(driven.scans.back().link_problem, Catch::Contains("exception 02, illegal data address"));
}

TEST_CASE("A press that does not take the station's beat has no healthy link") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  node.ask({{"fault", "exception_beat"}, {"code", 1}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::stale; }));
  CHECK_THAT(driven.scans.back().link_problem,
             Catch::Contains("station's beat") && Catch::Contains("exception 01, illegal function"));
  node.ask({{"clear_faults", true}});
  REQUIRE(driven.until_connected());
}

TEST_CASE("A press of another map version is read no further and never written to") {
  PressNode node;
  node.ask({{"fault", "wrong_map"}});
  DrivenPress driven(node.address());
  int scans = 0;
  REQUIRE(driven.until([&](const auto& scan) { return scan.link == LinkState::stale && ++scans == 15; }));
  CHECK_THAT(driven.scans.back().link_problem, Catch::Contains("map version 2"));
  CHECK(driven.scans.back().map_version == 2);
  CHECK(driven.scans.back().die_tag == 0);
  CHECK(node.get().at("functions").size() == 1);
  node.ask({{"clear_faults", true}});
  REQUIRE(driven.until_connected());
  CHECK(driven.scans.back().die_tag == 101);
  node.ask({{"fault", "wrong_map"}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == LinkState::stale; }));
}

TEST_CASE("An answer that comes after its time is never taken for the next one") {
  PressNode node;
  FaultProxy proxy(node.port());
  DrivenPress driven(proxy.address(), [](auto& options) { options.stale_ms = 400; });
  REQUIRE(driven.until_connected());
  for (int i = 0; i < 10; ++i) {
    proxy.ask({{"fault", "delay"}, {"ms", 80}});
    const std::size_t from = driven.scans.size();
    REQUIRE(driven.until([&](const auto&) { return driven.scans.size() > from + 8; }));
  }
  // Were an old answer taken for a new one, the values would lag by one request from then on: a changed die
  // tag would be seen in the scan after next instead of in the next one begun after the change.
  node.ask({{"set", {{"die_tag", 222}}}});
  const std::int64_t changed_us = driven.clock.monotonic_us();
  REQUIRE(driven.until([&](const auto& scan) { return scan.at_monotonic_us > changed_us + 70000; }));
  CHECK(driven.scans.back().die_tag == 222);
  CHECK(driven.press->statistics().timeouts >= 5);
}

TEST_CASE("Whatever a bad network does to the answers, no scan is wrong and the link recovers") {
  const std::uint64_t seed = 20;
  INFO("seed " << seed);
  PressNode node({"--auto-hands", "--seed", std::to_string(seed)});
  FaultProxy proxy(node.port(), {"--seed", std::to_string(seed)});
  DrivenPress driven(proxy.address());
  REQUIRE(driven.until_connected());
  for (const char* fault : {"garble", "half", "delay", "swallow", "twice", "drop", "dribble"}) {
    INFO(fault);
    proxy.ask({{"fault", fault}, {"ms", 5}, {"count", 3}});
    REQUIRE(driven.until([&](const auto&) {
      const auto spoilt = proxy.ask({{"get", true}}).at("spoilt");
      return spoilt.contains(fault) && spoilt.at(fault) == 3;
    }));
    REQUIRE(driven.until_connected());
  }
  proxy.ask({{"rates",
              {{"garble", 0.03},
               {"half", 0.02},
               {"delay", 0.03},
               {"swallow", 0.02},
               {"twice", 0.02},
               {"drop", 0.02}}}});
  std::map<std::uint16_t, std::uint64_t> accounted;
  const std::size_t from = driven.scans.size();
  std::uint16_t bites = 0;
  for (int attempt = 0; attempt < 20 && bites < 2; ++attempt) {
    ports::PressOrder clear;
    clear.kind = ports::PressOrder::Kind::clear_fault;
    driven.send(clear, 300);
    driven.send(DrivenPress::permit(), 1000);
    (void)driven.until([&](const auto& scan) { return scan.bite_number > bites; }, 3000);
    bites = driven.scans.back().bite_number;
  }
  CHECK(bites >= 1);  // work gets done on a bad network too
  proxy.ask({{"rates", nlohmann::json::object()}});
  REQUIRE(driven.until_connected());
  REQUIRE(driven.until([](const auto& scan) {
    return scan.link == LinkState::connected && (scan.phase == 1 || scan.phase == 6);
  }));
  for (std::size_t i = from; i < driven.scans.size(); ++i) {
    const auto& scan = driven.scans[i];
    // Nothing a bad network did may look like a press that says something else.
    CHECK(scan.die_tag == 101);
    CHECK(scan.phase <= 6);
    CHECK(scan.oil_temperature_c == 38.5);
    accounted[scan.sample_bite] += scan.new_samples.size() + scan.samples_missing;
    for (std::size_t k = 1; k < scan.new_samples.size(); ++k)
      CHECK(scan.new_samples[k].time_ms == scan.new_samples[k - 1].time_ms + 2);
  }
  const auto truth = node.get();
  CHECK(accounted[truth.at("sample_bite").get<std::uint16_t>()] ==
        truth.at("sequence").get<std::uint64_t>() + 1);
}

TEST_CASE("A press that was switched off and on is known again, and a token for it is still a change") {
  PressNode node({"--auto-hands"});
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  driven.send(DrivenPress::permit());
  REQUIRE(driven.until([](const auto& scan) { return scan.bite_number == 1 && scan.phase == 1; }));
  node.ask({{"reboot", true}, {"fault", "drop"}});
  REQUIRE(driven.until(
      [](const auto& scan) { return scan.link == LinkState::connected && scan.bite_number == 0; }));
  const std::uint16_t token = driven.send(DrivenPress::permit());
  REQUIRE(driven.until([&](const auto& scan) { return scan.permit_echo == token && scan.bite_number == 1; }));
}

TEST_CASE("A press is let go of quickly, whatever state it is in") {
  PressNode node;
  for (const char* fault : {"", "silent", "refuse", "frozen"}) {
    DrivenPress driven(node.address());
    REQUIRE(driven.until_connected());
    if (*fault != '\0') node.ask({{"fault", fault}});
    std::this_thread::sleep_for(std::chrono::milliseconds(150));
    driven.press.reset();  // joins the thread
    node.ask({{"clear_faults", true}});
  }
  SUCCEED("the thread ended each time");
}
