#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "calibration/force.hpp"

/// A force calibration as the record keeps it: event "force_calibrated" of kind "station". Keys are for ever;
/// new ones get a default for older records.
namespace shankwright::calibration {

/// What the reading of one run and step was, and where it came from.
struct KeptReading {
  double indicated_kn = 0;
  double cell_kn = 0;                  ///< not of a zero reading, where the cell is not asked
  std::optional<double> pressure_bar;  ///< as the station itself read the press; nothing: typed by a person
  std::int64_t at_utc_us = 0;
  std::string by;  ///< who read the cell
};

struct KeptRun {
  double cell_angle_deg = 0;
  std::optional<double> ram_position_mm;
  std::vector<KeptReading> readings;  ///< by step, rising
  std::optional<KeptReading> zero;
};

/// A reading that was taken again; kept, since what is left out of a calibration is part of it.
struct Discarded {
  std::size_t run = 0, step = 0;  ///< from 1; step 0 is the reading after the force was taken off
  KeptReading reading;
};

struct ForceCalibration {
  std::string press, cell;
  double range_kn = 0, resolution_kn = 0;
  ForceClass class_needed = ForceClass::none;
  std::size_t steps = 0;
  std::vector<KeptRun> runs;
  std::vector<Discarded> discarded;
  std::optional<std::int64_t> due_day;  ///< last day; nothing: what was needed was not reached
  std::int64_t begun_utc_us = 0;

  [[nodiscard]] ForceSeries series() const;
};

/// With the result beside the readings, so that it can be read without this program.
[[nodiscard]] std::string to_json(const ForceCalibration& calibration);
/// The result is worked out anew, never taken from the text.
[[nodiscard]] Result<ForceCalibration> calibration_from_json(const std::string& text);

/// All that the interlock needs of such an entry: which press, and until when.
struct PressDue {
  std::string press;
  std::optional<std::int64_t> due_day;
};
[[nodiscard]] Result<PressDue> press_due_from_json(const std::string& text);

}  // namespace shankwright::calibration
