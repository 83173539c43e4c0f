#pragma once
#include <cstddef>
#include <cstdint>
#include <deque>
#include <utility>
#include <vector>

#include "ports/ports.hpp"

namespace shankwright::modbus {

/// Scans waiting for the station, oldest first. When full the oldest makes room, and the samples it carried
/// are counted as missing on the scan that is then the oldest: a station that slept too long sees a hole,
/// never a trace that looks whole. Not thread-safe.
class ScanQueue {
 public:
  explicit ScanQueue(std::size_t most) : most_(most) {}

  void push(ports::PressScan scan) {
    scans_.push_back(std::move(scan));
    if (scans_.size() <= most_) return;
    const ports::PressScan& lost = scans_.front();
    const auto missing = static_cast<std::uint32_t>(lost.new_samples.size()) + lost.samples_missing;
    scans_.pop_front();
    scans_.front().samples_missing += missing;
    ++overflowed_;
  }
  [[nodiscard]] std::vector<ports::PressScan> take() {
    std::vector<ports::PressScan> out(std::make_move_iterator(scans_.begin()),
                                      std::make_move_iterator(scans_.end()));
    scans_.clear();
    return out;
  }
  [[nodiscard]] bool empty() const { return scans_.empty(); }
  [[nodiscard]] std::uint64_t overflowed() const { return overflowed_; }

 private:
  std::size_t most_;
  std::deque<ports::PressScan> scans_;
  std::uint64_t overflowed_ = 0;
};

}  // namespace shankwright::modbus
