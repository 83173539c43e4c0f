#include "upkeep/press_calibrations.hpp"

namespace shankwright::upkeep {

std::optional<Problem> PressCalibrations::catch_up() const {
  const auto entries = record_.entries_of_kind("station", read_to_);
  if (!entries) return entries.problem();
  for (const auto& stored : entries.value()) {
    if (stored.entry.event == calibrated_event) {
      const auto due = calibration::press_due_from_json(stored.entry.body_json);
      if (!due) return due.problem();
      by_press_[due.value().press].push_back(
          {stored.sequence, stored.entry.at_utc_us, stored.entry.actor, stored.entry.body_json});
      due_day_[due.value().press] = due.value().due_day;
    }
    read_to_ = stored.sequence;
  }
  return std::nullopt;
}

Result<PressCalibrations::Until> PressCalibrations::until(const std::string& press_id) const {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  if (const auto found = due_day_.find(press_id); found != due_day_.end())
    return Until{found->second, true, by_press_.at(press_id).back().sequence};
  const auto registered = shop_.press_calibration_due_day.find(press_id);
  if (registered == shop_.press_calibration_due_day.end()) return Until{};
  return Until{registered->second, false, 0};
}

Result<std::vector<StoredCalibration>> PressCalibrations::all(const std::string& press_id) const {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  const auto found = by_press_.find(press_id);
  if (found == by_press_.end()) return std::vector<StoredCalibration>{};
  return std::vector<StoredCalibration>(found->second.rbegin(), found->second.rend());
}

}  // namespace shankwright::upkeep
