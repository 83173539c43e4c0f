#include "simulators/node/press_loop.hpp"

#include <chrono>

namespace shankwright::node {

using Clock = std::chrono::steady_clock;

PressLoop::PressLoop(PressNode& node) : node_(node), thread_([this] { run(); }) {}

PressLoop::~PressLoop() {
  stopping_ = true;
  thread_.join();
}

void PressLoop::run() {
  constexpr auto period = std::chrono::milliseconds(cycle_period_ms);
  constexpr auto stall = std::chrono::milliseconds(100);
  Clock::time_point due = Clock::now() + period;
  while (!stopping_) {
    std::this_thread::sleep_until(due);
    node_.cycle();
    due += period;
    if (const auto now = Clock::now(); now - due > stall) due = now + period;
  }
}

}  // namespace shankwright::node
