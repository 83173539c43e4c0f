#include "simulators/node/press_loop.hpp"

#include <algorithm>
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
  constexpr auto jitter = std::chrono::milliseconds(1);
  Clock::time_point due = Clock::now() + period;
  while (!stopping_) {
    std::this_thread::sleep_until(due);
    const Clock::time_point began = Clock::now();
    node_.cycle();
    due = std::max(due + period, began + period - jitter);
  }
}

}  // namespace shankwright::node
