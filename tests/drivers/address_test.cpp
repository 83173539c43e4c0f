#include <catch2/catch.hpp>
#include <functional>

#include "drivers/modbus/address.hpp"
#include "drivers/modbus/press.hpp"
#include "steady_clock.hpp"

using namespace shankwright;
using modbus::Address;

TEST_CASE("A press's address is read in full") {
  const auto tcp = modbus::parse_address("tcp:press-3.shop:1502");
  REQUIRE(tcp.ok());
  CHECK(tcp.value().transport == Address::Transport::tcp);
  CHECK(tcp.value().host == "press-3.shop");
  CHECK(tcp.value().port == 1502);
  const auto six = modbus::parse_address("tcp:[::1]:502");
  REQUIRE(six.ok());
  CHECK(six.value().host == "::1");
  const auto rtu = modbus::parse_address("rtu:/dev/serial/by-id/usb-a:b:19200:8E1");
  REQUIRE(rtu.ok());
  CHECK(rtu.value().transport == Address::Transport::rtu);
  CHECK(rtu.value().device == "/dev/serial/by-id/usb-a:b");
  CHECK(rtu.value().baud == 19200);
  CHECK(rtu.value().parity == 'E');
  CHECK(rtu.value().stop_bits == 1);
}

TEST_CASE("An address that is none is named with what was found and what is wanted") {
  for (const char* text : {"",
                           "tcp",
                           "tcp:",
                           "tcp::502",
                           "tcp:host",
                           "tcp:host:",
                           "tcp:host:0",
                           "tcp:host:65536",
                           "tcp:host:5x",
                           "tcp:host:-1",
                           "tcp:::1:502",
                           "udp:host:502",
                           "rtu:",
                           "rtu:/dev/ttyS0",
                           "rtu:/dev/ttyS0:9600",
                           "rtu:/dev/ttyS0:9600:7E1",
                           "rtu:/dev/ttyS0:9600:8X1",
                           "rtu:/dev/ttyS0:9600:8N3",
                           "rtu:/dev/ttyS0:fast:8N1",
                           "rtu::9600:8N1"}) {
    INFO(text);
    const auto address = modbus::parse_address(text);
    REQUIRE_FALSE(address.ok());
    CHECK(address.problem().found == (*text == '\0' ? "nothing" : text));
    CHECK_THAT(address.problem().expected, Catch::Contains("tcp:HOST:PORT"));
  }
}

TEST_CASE("A press is not opened with options outside their range") {
  const test::SteadyClock clock;
  const auto refused = [&](const std::function<void(modbus::Options&)>& change) {
    modbus::Options options;
    options.address = "tcp:127.0.0.1:1";
    change(options);
    return !modbus::ModbusPress::open(options, modbus::Profile{}, clock).ok();
  };
  CHECK(refused([](modbus::Options& o) { o.address = "nowhere"; }));
  CHECK(refused([](modbus::Options& o) { o.unit_id = 256; }));
  CHECK(refused([](modbus::Options& o) { o.scan_period_ms = 0; }));
  CHECK(refused([](modbus::Options& o) { o.stale_ms = 5; }));
  CHECK(refused([](modbus::Options& o) {
    o.beat_ms = 101;
  }));  // the map asks for a change every 250 ms; the house keeps to 100
  CHECK(refused([](modbus::Options& o) { o.lost_notice_ms = 201; }));
  CHECK(refused([](modbus::Options& o) { o.response_timeout_ms = 0; }));
  CHECK(refused([](modbus::Options& o) { o.backoff_most_ms = 10; }));
  CHECK(refused([](modbus::Options& o) { o.failures_before_reconnect = 0; }));
  CHECK(refused([](modbus::Options& o) { o.queued_scans = 1; }));
}
