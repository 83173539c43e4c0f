#pragma once
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "calibration/force_record.hpp"
#include "library/library.hpp"
#include "ports/ports.hpp"

/// Until when a press is calibrated: by its newest force calibration on record, or by the shop register while
/// there is none.
namespace shankwright::upkeep {

inline constexpr const char* calibrated_event = "force_calibrated";  ///< kind "station"

struct StoredCalibration {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string actor;
  std::string body_json;  ///< calibration::ForceCalibration
};

/// Reads the record as it grows. Any thread may call.
class PressCalibrations {
 public:
  PressCalibrations(const ports::RecordStore& record, const library::Shop& shop)
      : record_(record), shop_(shop) {}

  struct Until {
    std::optional<std::int64_t> day;  ///< last day; nothing: never calibrated, or the newest did not reach
                                      ///< the class that was needed
    bool on_record = false;           ///< false: as the shop register has it
    std::int64_t sequence = 0;        ///< of the entry, where it is on record
  };
  /// A Problem when the record cannot be read: then nobody knows.
  [[nodiscard]] Result<Until> until(const std::string& press_id) const;
  /// Newest first.
  [[nodiscard]] Result<std::vector<StoredCalibration>> all(const std::string& press_id) const;

 private:
  [[nodiscard]] std::optional<Problem> catch_up() const;

  const ports::RecordStore& record_;
  const library::Shop& shop_;
  mutable std::mutex mutex_;
  mutable std::int64_t read_to_ = 0;
  mutable std::map<std::string, std::vector<StoredCalibration>> by_press_;  ///< oldest first
  mutable std::map<std::string, std::optional<std::int64_t>> due_day_;
};

}  // namespace shankwright::upkeep
