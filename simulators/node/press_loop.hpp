#pragma once
#include <atomic>
#include <thread>

#include "simulators/node/press_node.hpp"

namespace shankwright::node {

/// Runs a press node in real time: one cycle every 10 ms of the monotonic clock, on a thread of its own, from
/// construction to destruction. Time lost when the machine is busy is not caught up, but for a millisecond of
/// jitter: the press stands still rather than hurry, or a station that reads every 40 ms would miss samples
/// nobody could have read.
class PressLoop {
 public:
  explicit PressLoop(PressNode& node);
  ~PressLoop();
  PressLoop(const PressLoop&) = delete;
  PressLoop& operator=(const PressLoop&) = delete;

 private:
  void run();

  PressNode& node_;
  std::atomic<bool> stopping_ = false;
  std::thread thread_;  // last: starts when everything else is there
};

}  // namespace shankwright::node
