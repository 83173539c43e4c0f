#include <catch2/catch.hpp>

#include "drivers/modbus/press.hpp"
#include "modbus_server.hpp"
#include "other_profile.hpp"
#include "steady_clock.hpp"

using namespace shankwright;

namespace {

template <typename Condition>
bool soon(ports::Press& press, std::vector<ports::PressScan>& scans, Condition condition) {
  for (int i = 0; i < 200; ++i) {
    press.wait_for_scan(100);
    for (auto& scan : press.take_scans()) scans.push_back(std::move(scan));
    if (condition()) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("A press with other registers is driven by its profile alone") {
  const modbus::LoadedProfile loaded = modbus::parse_profile(test::other_profile, "other.yaml");
  REQUIRE(loaded.ok());
  test::ModbusServer server;
  int answers = 0;
  server.before_answer = [&](std::uint16_t*, std::uint16_t* holding) {
    ++answers;
    holding[218] = static_cast<std::uint16_t>(answers);  // the node's beat
  };
  server.with([](std::uint16_t*, std::uint16_t* holding) {
    holding[219] = 7;
    holding[217] = 10;
    holding[211] = 35000;
    holding[311] = 41;  // the token it holds
    holding[320] = 900;
    holding[198] = 1, holding[197] = 2, holding[196] = 6;  // two samples, packed to the end
    for (int i = 0; i < 2; ++i) {
      std::uint16_t* sample = holding + 120 + 5 * (13 + i);
      sample[0] = static_cast<std::uint16_t>(1200 + i), sample[2] = 5000,
      sample[4] = static_cast<std::uint16_t>(4 * i);
    }
  });
  const test::SteadyClock clock;
  modbus::Options options;
  options.address = server.address();
  const auto press = modbus::ModbusPress::open(options, loaded.profile, clock);
  REQUIRE(press.ok());
  std::vector<ports::PressScan> scans;
  REQUIRE(soon(*press.value(), scans, [&] {
    return !scans.empty() && scans.back().link == ports::LinkState::connected &&
           press.value()->next_token() != 0;
  }));
  CHECK(scans.back().phase == 1);
  CHECK(scans.back().pressure_bar == 350);
  CHECK(press.value()->next_token() == 42);
  std::vector<ports::Sample> samples;
  for (const auto& scan : scans)
    samples.insert(samples.end(), scan.new_samples.begin(), scan.new_samples.end());
  CHECK(samples == std::vector<ports::Sample>{{0, 12.0, 5.0}, {4, 12.01, 5.0}});

  ports::PressOrder order;
  order.kind = ports::PressOrder::Kind::permit_one_bite;
  order.token = 42;
  order.target_pressure_bar = 700;
  press.value()->send(order, clock.monotonic_us() + 2000000);
  REQUIRE(soon(*press.value(), scans, [&] {
    bool there = false;
    server.with([&](std::uint16_t*, std::uint16_t* holding) { there = holding[311] == 42; });
    return there;
  }));
  std::uint16_t beat = 0;
  server.with([&](std::uint16_t*, std::uint16_t* holding) {
    CHECK(holding[300] == 17);
    CHECK(holding[301] == (70000 & 0xFFFF));
    CHECK(holding[302] == 1);
    beat = holding[320];
  });
  CHECK(beat != 900);
  // Unit, function, address and count of every request: one read, one read back, the beat, the order; nothing
  // else.
  int orders = 0;
  for (const auto& request : server.requests()) {
    const int function = request[1], address = request[2] << 8 | request[3],
              count = request[4] << 8 | request[5];
    const bool scan = function == 3 && address == 120 && count == 100;
    const bool read_back = function == 3 && address == 300 && count == 21;
    const bool beat_write = function == 16 && address == 320 && count == 1;
    const bool order_write = function == 16 && address == 300 && count == 12;
    orders += order_write;
    CHECK((scan || read_back || beat_write || order_write));
  }
  CHECK(orders == 1);
}
