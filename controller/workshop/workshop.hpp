#pragma once
#include <filesystem>
#include <string>

#include "library/library.hpp"
#include "people/person.hpp"
#include "ports/station_port.hpp"
#include "workshop/drafts.hpp"
#include "workshop/falls_due.hpp"
#include "workshop/force_session.hpp"
#include "upkeep/press_calibrations.hpp"
#include "workshop/press_health.hpp"
#include "workshop/trial_bench.hpp"

/// What a technician does beside the bites: force calibration, the press's health, what falls due, trials and
/// drafts. Stands on the record and the library; nothing here reaches the press.
namespace shankwright::workshop {

struct WorkshopOptions {
  std::string press_id;
  std::filesystem::path data_folder;     ///< a calibration under way lies in its folder "workshop"
  std::filesystem::path library_folder;  ///< released drafts go into its folder "recipes"
};

/// Any thread may call. The referred-to objects must outlive it.
class Workshop {
 public:
  Workshop(WorkshopOptions options, ports::RecordStore& record, const library::Library& library,
           const library::Shop& shop, const people::People& people, const ports::Clock& clock);

  // --- force calibration
  struct Calibrating {
    std::optional<calibration::ForceCalibration> running;
    ForceAsked asked;
    std::vector<double> targets_kn;
  };
  [[nodiscard]] Calibrating calibrating() const;
  [[nodiscard]] std::optional<Problem> begin(const ForceBegin& begin);
  [[nodiscard]] std::optional<Problem> begin_run(const RunBegin& run);
  [[nodiscard]] std::optional<Problem> take(const ReadingTaken& reading, const ports::Snapshot& press,
                                            const std::string& by);
  /// Puts it on record; place "record" where that fails, and it goes on.
  [[nodiscard]] Result<calibration::ForceCalibration> finish(std::optional<std::int64_t> due_day,
                                                             const std::string& by);
  /// Ends it without a result, on record with what was read (event "force_calibration_left").
  [[nodiscard]] std::optional<Problem> leave(const std::string& reason, const std::string& by);

  // --- what falls due
  [[nodiscard]] Result<std::vector<DueItem>> falls_due() const;

  [[nodiscard]] const upkeep::PressCalibrations& calibrations() const { return calibrations_; }
  [[nodiscard]] const PressHealth& health() const { return health_; }
  [[nodiscard]] TrialBench& trials() { return trials_; }
  [[nodiscard]] Drafts& drafts() { return drafts_; }
  [[nodiscard]] const WorkshopOptions& options() const { return options_; }
  [[nodiscard]] const library::Library& library() const { return library_; }
  [[nodiscard]] const library::Shop& shop() const { return shop_; }

 private:
  [[nodiscard]] Result<std::int64_t> append(const char* event, std::string body, const std::string& by);

  const WorkshopOptions options_;
  ports::RecordStore& record_;
  const library::Library& library_;
  const library::Shop& shop_;
  const people::People& people_;
  const ports::Clock& clock_;
  upkeep::PressCalibrations calibrations_;
  PressHealth health_;
  TrialBench trials_;
  Drafts drafts_;
  mutable std::mutex calibrating_;
  ForceSession session_;
};

}  // namespace shankwright::workshop
