#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "calibration/force.hpp"
#include "quantity/result.hpp"

/// A file of force readings, as `shankwright calibrate force` takes it. YAML, or JSON, which is YAML too.
/// Every fault is reported with file:line:column.
namespace shankwright::library {

struct ForceReadings {
  std::string press, cell;
  std::int64_t day = 0;  ///< of the calibration, days since 1970-01-01
  calibration::ForceSeries series;
  std::optional<calibration::ForceClass> class_needed;  ///< what the shop asks for; nothing: not said
};

struct ForceReadingsResult {
  ForceReadings readings;  ///< whole only without faults
  std::vector<Problem> faults;
  bool unreadable = false;  ///< the file could not be read at all; the one fault says why
};

[[nodiscard]] ForceReadingsResult load_force_readings(const std::filesystem::path& file);

}  // namespace shankwright::library
