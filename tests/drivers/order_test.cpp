#include "driven_press.hpp"
#include "drivers/modbus/client.hpp"

using namespace shankwright;
using test::DrivenPress;
using test::PressNode;
using Kind = ports::PressOrder::Kind;

namespace {

std::vector<ports::Press::Dropped> dropped_within(DrivenPress& driven, int limit_ms) {
  std::vector<ports::Press::Dropped> out;
  for (int waited = 0; waited < limit_ms && out.empty(); waited += 10) {
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
    out = driven.press->take_dropped();
  }
  return out;
}

}  // namespace

TEST_CASE("A permit arrives whole, in one request, and is acted on once") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  ports::PressOrder order = DrivenPress::permit();
  order.target_pressure_bar = 287.3;
  order.pressure_limit_bar = 301.4;
  order.dwell_ms = 750;
  order.closed_gap_mm = 0.137;
  order.stroke_timeout_ms = 6543;
  order.permit_life_ms = 8765;
  const std::uint16_t token = driven.send(order);
  REQUIRE(
      driven.until([&](const auto& scan) { return scan.permit_echo == token && scan.permit_state == 1; }));
  const auto truth = node.get();
  REQUIRE(truth.at("writes").size() == 1);
  CHECK(truth.at("writes")[0].at("function") == 16);
  CHECK(truth.at("writes")[0].at("address") == 1);
  CHECK(truth.at("writes")[0].at("values") ==
        std::vector<int>({1, token, 2873, 3014, 750, 137, 6543, 8765, 101}));
  CHECK(truth.at("acted").size() == 1);
  CHECK(driven.press->take_dropped().empty());
}

TEST_CASE("A driver that starts anew goes on from the token that the press holds") {
  PressNode node;
  std::uint16_t first = 0;
  {
    DrivenPress driven(node.address());
    REQUIRE(driven.until_connected());
    first = driven.send(DrivenPress::permit());
    REQUIRE(driven.until([&](const auto& scan) { return scan.permit_state == 1; }));
  }
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  ports::PressOrder withdraw;
  withdraw.kind = Kind::withdraw_permit;
  const std::uint16_t second = driven.send(withdraw);
  CHECK(second != first);
  CHECK(driven.until([](const auto& scan) { return scan.permit_state == 4 || scan.fault_code == 5; }));
  CHECK(node.get().at("acted").back().at("order") == 2);
}

TEST_CASE("Where the order cannot be read back, the first token is still a change") {
  PressNode node;
  node.ask(
      {{"set",
        {{"holding", {0, 0, 1, 0, 0, 0, 0, 0, 0, 0}}, {"last_token", 1}}}});  // left by an earlier station
  node.ask({{"fault", "exception_read_back"}, {"code", 1}});
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  const std::uint16_t token = driven.send(DrivenPress::permit());
  CHECK(driven.until([&](const auto& scan) { return scan.permit_echo == token && scan.permit_state == 1; }));
  // Before it one order of kind none with token 0, which no press acts on.
  const auto truth = node.get();
  REQUIRE(truth.at("writes").size() == 2);
  CHECK(truth.at("writes")[0].at("values") == std::vector<int>(9, 0));
  CHECK(truth.at("acted").size() == 1);
}

TEST_CASE("An order that is too late is dropped with why and never sent") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  REQUIRE(driven.until([&](const auto&) { return driven.press->next_token() != 0; }));
  ports::PressOrder order = DrivenPress::permit();
  order.token = driven.press->next_token();
  driven.press->send(order, driven.clock.monotonic_us() - 1);
  const auto dropped = dropped_within(driven, 10000);
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].token == order.token);
  CHECK_THAT(dropped[0].why, Catch::Contains("too late"));
  CHECK_FALSE(dropped[0].may_have_arrived);
  CHECK(node.get().at("writes").empty());
}

TEST_CASE("A permit is not sent on a stale link, a withdrawal is") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  driven.send(DrivenPress::permit());
  REQUIRE(driven.until([](const auto& scan) { return scan.permit_state == 1; }));
  node.ask({{"fault", "frozen_beat"}});
  REQUIRE(driven.until([](const auto& scan) { return scan.link == ports::LinkState::stale; }));
  CHECK_THAT(driven.scans.back().link_problem, Catch::Contains("beat stands still"));
  CHECK_FALSE(driven.scans.back().beat_moving);
  const std::uint16_t permit = driven.send(DrivenPress::permit(), 300);
  const auto dropped = dropped_within(driven, 10000);
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].token == permit);
  CHECK_THAT(dropped[0].why, Catch::Contains("too late") && Catch::Contains("beat stands still"));
  CHECK_FALSE(dropped[0].may_have_arrived);
  CHECK(node.get().at("writes").size() == 1);
  ports::PressOrder withdraw;
  withdraw.kind = Kind::withdraw_permit;
  driven.send(withdraw);
  CHECK(driven.until([](const auto& scan) { return scan.permit_state == 4; }));
  node.ask({{"clear_faults", true}});
  CHECK(driven.until_connected());
}

TEST_CASE("An order answered with an exception is dropped, and whether it may have arrived is told") {
  struct Case {
    int code;
    bool may_have_arrived;
  };
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  for (const Case& one : {Case{1, false},
                          {2, false},
                          {3, false},
                          {4, true},
                          {5, true},
                          {6, false},
                          {8, true},
                          {10, false},
                          {11, true}}) {
    INFO("exception " << one.code);
    node.ask({{"fault", "exception_order"}, {"code", one.code}});
    ports::PressOrder order;
    order.kind = Kind::clear_fault;
    const std::uint16_t token = driven.send(order);
    const auto dropped = dropped_within(driven, 10000);
    REQUIRE(dropped.size() == 1);
    CHECK(dropped[0].token == token);
    CHECK(dropped[0].may_have_arrived == one.may_have_arrived);
    CHECK_THAT(dropped[0].why, Catch::Contains(modbus::exception_words(one.code)));
  }
  node.ask({{"clear_faults", true}});
  // The press's own: a target above its maximum of 400 bar (exception 03 of the map).
  ports::PressOrder order = DrivenPress::permit();
  order.target_pressure_bar = 400.1;
  driven.send(order);
  const auto dropped = dropped_within(driven, 10000);
  REQUIRE(dropped.size() == 1);
  CHECK_THAT(dropped[0].why, Catch::Contains("exception 03, illegal data value"));
  CHECK(driven.scans.back().link == ports::LinkState::connected);
}

TEST_CASE("An order that went out and was never answered may have arrived") {
  PressNode node;
  DrivenPress driven(node.address(), [](auto& options) { options.stale_ms = 2000; });
  REQUIRE(driven.until_connected());
  REQUIRE(driven.until([&](const auto&) { return driven.press->next_token() != 0; }));
  node.ask({{"fault", "silent"}});
  ports::PressOrder order;
  order.kind = Kind::open_dies;
  order.token = driven.press->next_token();
  driven.press->send(order, driven.clock.monotonic_us() + 1000000);
  const auto dropped = dropped_within(driven, 10000);
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].may_have_arrived);
  CHECK_THAT(dropped[0].why, Catch::Contains("no answer within 60 ms"));
  CHECK(node.get().at("acted").size() == 1);
}

TEST_CASE("A value that its register cannot hold is dropped with the register's name") {
  PressNode node;
  DrivenPress driven(node.address());
  REQUIRE(driven.until_connected());
  ports::PressOrder order = DrivenPress::permit();
  order.dwell_ms = 65536;
  const std::uint16_t token = driven.send(order);
  const auto dropped = driven.press->take_dropped();
  REQUIRE(dropped.size() == 1);
  CHECK(dropped[0].token == token);
  CHECK_THAT(dropped[0].why, Catch::Contains("dwell"));
  CHECK(node.get().at("writes").empty());
}
