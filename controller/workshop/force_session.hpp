#pragma once
#include <filesystem>
#include <optional>
#include <string>

#include "calibration/force_record.hpp"
#include "library/library.hpp"
#include "ports/station_port.hpp"

/// One force calibration, led step by step: what is asked for next, what was read, what it says so far. The
/// station itself reads the press; a person reads the cell. It is kept in a file, so that a restart between
/// two steps costs nothing, and goes on record when it ends, in either way.
namespace shankwright::workshop {

/// Longest from one force calibration to the next: 12 months (ISO 7500-1:2015, 9, value from memory).
inline constexpr std::int64_t interval_days_most = 366;
/// The indication may lie this far from a step's target, as share of the range.
inline constexpr double target_tolerance_share = calibration::step_share_tolerance;
inline constexpr std::size_t runs_most = 6, steps_most = 12;

struct ForceBegin {
  std::string cell;
  double range_kn = 0, resolution_kn = 0;
  calibration::ForceClass class_needed = calibration::ForceClass::none;
  std::size_t steps = calibration::steps_least;
  bool preloaded = false;  ///< three times to the full range, as ISO 7500-1 asks; confirmed by a person
};

struct RunBegin {
  double cell_angle_deg = 0;
  std::optional<double> ram_position_mm;
};

struct ReadingTaken {
  std::size_t run = 0;   ///< from 1
  std::size_t step = 0;  ///< from 1; 0: the force is off
  double cell_kn = 0;
  std::optional<double> indicated_kn;  ///< typed off the press; nothing: the station reads the press now
};

/// Where the calibration stands and what is to be done next.
struct ForceAsked {
  enum class What { run, reading, zero, finish };
  What what = What::run;
  std::size_t run = 0, step = 0;  ///< from 1
  double target_kn = 0;
};

class ForceSession {
 public:
  ForceSession(std::filesystem::path file, const library::Library& library, const library::Shop& shop,
               std::string press_id, const ports::Clock& clock);

  /// What is under way, or nothing.
  [[nodiscard]] const std::optional<calibration::ForceCalibration>& running() const { return running_; }
  [[nodiscard]] ForceAsked asked() const;
  [[nodiscard]] std::vector<double> targets_kn() const;

  /// Each gives a Problem whose place is the member of the request that cannot be taken, or "" where it is
  /// not the time for it; place "disk" where the file cannot be written.
  [[nodiscard]] std::optional<Problem> begin(const ForceBegin& begin);
  [[nodiscard]] std::optional<Problem> begin_run(const RunBegin& run);
  [[nodiscard]] std::optional<Problem> take(const ReadingTaken& reading, const ports::Snapshot& press,
                                            std::string_view by);
  /// What goes on record. The due day is asked for where the class that is needed was reached, and refused
  /// where not.
  [[nodiscard]] Result<calibration::ForceCalibration> finished(std::optional<std::int64_t> due_day) const;
  /// Forgets it, when it is on record.
  void clear();

 private:
  [[nodiscard]] std::optional<Problem> keep(calibration::ForceCalibration next);

  std::filesystem::path file_;
  const library::Library& library_;
  const library::Shop& shop_;
  std::string press_id_;
  const ports::Clock& clock_;
  std::optional<calibration::ForceCalibration> running_;
};

}  // namespace shankwright::workshop
