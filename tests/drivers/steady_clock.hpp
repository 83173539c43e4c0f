#pragma once
#include <chrono>

#include "ports/ports.hpp"

namespace shankwright::test {

class SteadyClock final : public ports::Clock {
 public:
  [[nodiscard]] std::int64_t utc_us() const override {
    return std::chrono::duration_cast<std::chrono::microseconds>(
               std::chrono::system_clock::now().time_since_epoch())
        .count();
  }
  [[nodiscard]] std::int64_t monotonic_us() const override {
    return std::chrono::duration_cast<std::chrono::microseconds>(
               std::chrono::steady_clock::now().time_since_epoch())
        .count();
  }
};

}  // namespace shankwright::test
