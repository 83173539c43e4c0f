#pragma once
#include <cstdint>
#include <mutex>
#include <set>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "workshop/hold_slope.hpp"

/// What the record knows of the press's health. What the press shows right now comes from the live picture.
namespace shankwright::workshop {

/// Link lost and found again, faults cleared, pressure zeroed, dies opened by order: entries of kind
/// "station".
struct HealthEvent {
  std::int64_t at_utc_us = 0;
  std::string event;  ///< as the record names it
  std::string actor, detail;
  int fault_code = 0;  ///< of an order to the press: what the press reported just then
};

/// One bite's hold.
struct HoldPoint {
  std::string serial;
  std::int64_t sequence = 0, at_utc_us = 0;
  HoldSlope slope;
};

/// Any thread may call.
class PressHealth {
 public:
  PressHealth(const ports::RecordStore& record, const ports::Clock& clock) : record_(record), clock_(clock) {}

  static constexpr std::size_t events_most = 40, holds_most = 60;
  [[nodiscard]] Result<std::vector<HealthEvent>> events() const;  ///< newest first
  /// Bites of fittings begun within the last 31 days, oldest first; the traces are read once.
  [[nodiscard]] Result<std::vector<HoldPoint>> holds() const;

 private:
  const ports::RecordStore& record_;
  const ports::Clock& clock_;
  mutable std::mutex mutex_;
  mutable std::int64_t read_to_ = 0;
  mutable std::vector<HealthEvent> events_;  ///< oldest first, bounded
  mutable std::vector<HoldPoint> holds_;     ///< of what was looked at, oldest first, bounded
  mutable std::set<std::string> looked_at_;  ///< "serial changed" of fittings whose traces were read
};

}  // namespace shankwright::workshop
