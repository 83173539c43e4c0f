#pragma once
#include <catch2/catch.hpp>

#include <chrono>
#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "child.hpp"
#include "drivers/modbus/press.hpp"
#include "steady_clock.hpp"

namespace shankwright::test {

/// The driver under test with a history of its scans. Waiting is by condition with a generous limit, so that
/// a busy machine makes a test slower and never red.
class DrivenPress {
 public:
  explicit DrivenPress(const std::string& address, const std::function<void(modbus::Options&)>& change = {}) {
    const modbus::LoadedProfile loaded = modbus::load_profile(SOURCE_DIR "/drivers/profiles/reference.yaml");
    REQUIRE(loaded.ok());
    modbus::Options options;
    options.address = address;
    if (change) change(options);
    const auto opened = modbus::ModbusPress::open(options, loaded.profile, clock);
    if (!opened.ok()) FAIL(opened.problem().text());
    press = opened.value();
  }

  /// Takes scans until the newest meets `condition`; scans taken are kept in `scans`.
  bool until(const std::function<bool(const ports::PressScan&)>& condition, int limit_ms = 15000) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::milliseconds(limit_ms);
    while (std::chrono::steady_clock::now() < end) {
      if (pending.empty()) {
        press->wait_for_scan(50);
        for (auto& scan : press->take_scans()) pending.push_back(std::move(scan));
      }
      while (!pending.empty()) {
        scans.push_back(std::move(pending.front()));
        pending.pop_front();
        if (condition(scans.back())) return true;
      }
    }
    return false;
  }
  bool until_connected() {
    return until([](const auto& scan) { return scan.link == ports::LinkState::connected; });
  }
  /// Waits for a token and sends the order; returns its token.
  std::uint16_t send(ports::PressOrder order, int within_ms = 5000) {
    REQUIRE(until([&](const auto&) { return press->next_token() != 0; }));
    order.token = press->next_token();
    press->send(order, clock.monotonic_us() + 1000LL * within_ms);
    return order.token;
  }
  static ports::PressOrder permit() {
    ports::PressOrder order;
    order.kind = ports::PressOrder::Kind::permit_one_bite;
    order.target_pressure_bar = 300;
    order.pressure_limit_bar = 350;
    order.dwell_ms = 100;
    order.closed_gap_mm = 0.05;
    order.stroke_timeout_ms = 8000;
    order.permit_life_ms = 9000;
    order.expected_die_tag = 101;
    return order;
  }

  SteadyClock clock;
  std::vector<ports::PressScan> scans;
  std::deque<ports::PressScan> pending;  ///< taken, not looked at yet
  std::shared_ptr<modbus::ModbusPress> press;
};

}  // namespace shankwright::test
