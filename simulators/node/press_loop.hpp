#pragma once
#include <atomic>
#include <thread>

#include "simulators/node/press_node.hpp"

namespace shankwright::node {

/// Runs a press node in real time: one cycle every 10 ms of the monotonic clock, on a thread of its own, from
/// construction to destruction. After a stall of more than 100 ms (a suspended machine) the lost time is not
/// caught up.
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
