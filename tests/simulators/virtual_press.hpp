#pragma once
#include <deque>
#include <utility>
#include <vector>

#include "../controller/station/fakes.hpp"
#include "drivers/modbus/codec.hpp"
#include "drivers/modbus/profile.hpp"
#include "drivers/modbus/sample_ledger.hpp"
#include "simulators/node/press_node.hpp"

namespace shankwright::tests {

/// The simulated press read through the reference profile without a network: press and clock go forward
/// together, by hand, so a whole fitting is a matter of its seed alone.
class VirtualPress final : public ports::Press {
 public:
  VirtualPress(node::PressNode& node, const modbus::Profile& profile, HandClock& clock)
      : node_(node), profile_(profile), clock_(clock), ledger_(profile.samples.period_ms) {}

  /// Press time passes; a scan every 20 ms, with the station's beat.
  void pass_ms(int ms) {
    for (int done = 0; done < ms; done += 10) {
      node_.cycle();
      clock_.pass_ms(10);
      if ((clock_.now_us / 10'000) % 2 == 0) scan();
    }
  }

  std::vector<ports::PressScan> take_scans() override { return std::exchange(scans_, {}); }
  void wait_for_scan(int) override {}
  void send(const ports::PressOrder& order, std::int64_t) override {
    const auto registers = modbus::encode(profile_, order).value();
    if (!node_.write_holding_registers(profile_.order_window.start, registers))
      throw std::logic_error("the press took no order");
  }
  std::vector<Dropped> take_dropped() override { return {}; }
  std::uint16_t next_token() override { return ++token_; }

 private:
  void scan() {
    const std::uint16_t beat[] = {++beat_};
    if (!node_.write_holding_registers(0, beat)) throw std::logic_error("the press took no beat");
    const node::InputRegisters registers = node_.read_input_registers();
    const auto window = std::span(registers).subspan(profile_.read_window.start, profile_.read_window.count);
    ports::PressScan scan;
    modbus::HeldSamples held;
    if (auto problem = modbus::decode(profile_, window, scan, held)) throw std::logic_error(problem->text());
    scan.number = ++number_;
    scan.at_monotonic_us = clock_.now_us;
    scan.link = ports::LinkState::connected;
    scan.beat_moving = true;
    ledger_.take(held, scan);
    scans_.push_back(std::move(scan));
  }

  node::PressNode& node_;
  const modbus::Profile& profile_;
  HandClock& clock_;
  modbus::SampleLedger ledger_;
  std::vector<ports::PressScan> scans_;
  std::uint64_t number_ = 0;
  std::uint16_t token_ = 0, beat_ = 0;
};

}  // namespace shankwright::tests
