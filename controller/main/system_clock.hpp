#pragma once
#include <chrono>

#include "ports/ports.hpp"

namespace shankwright {

/// The machine's own clocks.
class SystemClock final : public ports::Clock {
 public:
  [[nodiscard]] std::int64_t utc_us() const override { return count(std::chrono::system_clock::now()); }
  [[nodiscard]] std::int64_t monotonic_us() const override { return count(std::chrono::steady_clock::now()); }

 private:
  template <typename TimePoint>
  static std::int64_t count(TimePoint now) {
    return std::chrono::duration_cast<std::chrono::microseconds>(now.time_since_epoch()).count();
  }
};

}  // namespace shankwright
