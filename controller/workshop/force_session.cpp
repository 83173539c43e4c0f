#include "workshop/force_session.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include "people/roles.hpp"

namespace shankwright::workshop {
namespace {

using calibration::ForceCalibration;
using calibration::KeptReading;

constexpr std::int64_t us_per_day = 86'400'000'000;
constexpr std::int64_t press_age_us_most = 500'000;
constexpr double kn_per_bar_mm2 = 1e-4;  // 1 bar = 0.1 N/mm2

const Problem nothing_runs{"", "no calibration under way", "one that has been begun"};

std::optional<Problem> write_whole(const std::filesystem::path& file, const std::string& text) {
  std::error_code error;
  std::filesystem::create_directories(file.parent_path(), error);
  const auto beside = file.string() + ".new";
  std::ofstream out(beside, std::ios::binary | std::ios::trunc);
  out << text;
  out.close();
  if (out) std::filesystem::rename(beside, file, error);
  if (out && !error) return std::nullopt;
  return Problem{"disk", file.filename().string() + " that cannot be written",
                 "room on the disk and leave to write in the data folder"};
}

}  // namespace

ForceSession::ForceSession(std::filesystem::path file, const library::Library& library,
                           const library::Shop& shop, std::string press_id, const ports::Clock& clock)
    : file_(std::move(file)), library_(library), shop_(shop), press_id_(std::move(press_id)), clock_(clock) {
  std::ifstream in(file_, std::ios::binary);
  if (!in) return;
  std::stringstream text;
  text << in.rdbuf();
  // A file nobody can read holds no evidence yet: it is begun again.
  if (auto read = calibration::calibration_from_json(text.str()); read && read.value().press == press_id_)
    running_ = std::move(read).value();
}

std::vector<double> ForceSession::targets_kn() const {
  return running_ ? calibration::step_targets_kn(running_->range_kn, running_->steps) : std::vector<double>{};
}

ForceAsked ForceSession::asked() const {
  if (!running_) return {};
  const auto targets = targets_kn();
  const auto& runs = running_->runs;
  for (std::size_t r = 0; r < runs.size(); ++r) {
    if (runs[r].readings.size() < targets.size())
      return {ForceAsked::What::reading, r + 1, runs[r].readings.size() + 1,
              targets[runs[r].readings.size()]};
    if (!runs[r].zero) return {ForceAsked::What::zero, r + 1, 0, 0};
  }
  if (runs.size() < calibration::runs_least) return {ForceAsked::What::run, runs.size() + 1, 0, 0};
  return {ForceAsked::What::finish, 0, 0, 0};
}

std::optional<Problem> ForceSession::keep(ForceCalibration next) {
  if (auto problem = write_whole(file_, calibration::to_json(next))) return problem;
  running_ = std::move(next);
  return std::nullopt;
}

std::optional<Problem> ForceSession::begin(const ForceBegin& begin) {
  if (running_) return Problem{"", "a calibration under way", "its end before another is begun"};
  const auto press = library_.presses.find(press_id_);
  if (press == library_.presses.end())
    return Problem{"", "a press that the library does not know", "a press of the library"};
  const auto cell = library_.gauges.find(begin.cell);
  if (cell == library_.gauges.end() || cell->second.kind != recipe::GaugeKind::load_cell)
    return Problem{"/cell", begin.cell, "a force cell of the library"};
  const auto due = shop_.gauge_calibration_due_day.find(begin.cell);
  if (due == shop_.gauge_calibration_due_day.end())
    return Problem{"/cell", begin.cell + ", which the shop register does not have",
                   "a force cell whose calibration the shop register knows"};
  if (const std::int64_t today = clock_.utc_us() / us_per_day; due->second < today)
    return Problem{"/cell", begin.cell + ", whose calibration fell due on " + people::day_text(due->second),
                   "a force cell that is in date"};
  if (!(begin.range_kn > 0) || begin.range_kn > press->second.capacity_kn)
    return Problem{
        "/range", fmt::format("{:g} kN", begin.range_kn),
        fmt::format("above 0 and no more than the press can give, {:.0f} kN", press->second.capacity_kn)};
  if (!(begin.resolution_kn > 0) || begin.resolution_kn > begin.range_kn)
    return Problem{"/resolution", fmt::format("{:g} kN", begin.resolution_kn), "above 0, below the range"};
  if (begin.class_needed == calibration::ForceClass::none)
    return Problem{"/class_needed", "none", "0.5, 1, 2 or 3"};
  if (begin.steps < calibration::steps_least || begin.steps > steps_most)
    return Problem{"/steps", std::to_string(begin.steps),
                   fmt::format("{} to {}", calibration::steps_least, steps_most)};
  if (!begin.preloaded)
    return Problem{"/preloaded", "false", "true: the press was loaded three times to the full range first"};
  ForceCalibration fresh;
  fresh.press = press_id_;
  fresh.cell = begin.cell;
  fresh.range_kn = begin.range_kn;
  fresh.resolution_kn = begin.resolution_kn;
  fresh.class_needed = begin.class_needed;
  fresh.steps = begin.steps;
  fresh.begun_utc_us = clock_.utc_us();
  return keep(std::move(fresh));
}

std::optional<Problem> ForceSession::begin_run(const RunBegin& run) {
  if (!running_) return nothing_runs;
  const auto next = asked().what;
  if (next != ForceAsked::What::run && next != ForceAsked::What::finish)
    return Problem{"", "a run that is not finished", "all its readings, and the one without force"};
  if (running_->runs.size() >= runs_most)
    return Problem{"", fmt::format("{} runs", runs_most), "no more than that"};
  ForceCalibration changed = *running_;
  changed.runs.push_back({run.cell_angle_deg, run.ram_position_mm, {}, {}});
  return keep(std::move(changed));
}

std::optional<Problem> ForceSession::take(const ReadingTaken& taken, const ports::Snapshot& snapshot,
                                          std::string_view by) {
  if (!running_) return nothing_runs;
  ForceCalibration changed = *running_;
  if (taken.run < 1 || taken.run > changed.runs.size())
    return Problem{"/run", std::to_string(taken.run),
                   fmt::format("a run that was begun, 1 to {}", changed.runs.size())};
  auto& run = changed.runs[taken.run - 1];
  const bool zero = taken.step == 0;
  if (!zero && (taken.step > changed.steps || taken.step > run.readings.size() + 1))
    return Problem{"/step", std::to_string(taken.step),
                   fmt::format("the next one, {}, or one already read",
                               std::min(run.readings.size() + 1, changed.steps))};
  if (zero && run.readings.size() < changed.steps)
    return Problem{"/step", "0", "all forces of the run first"};

  KeptReading reading;
  reading.at_utc_us = clock_.utc_us();
  reading.by = by;
  reading.cell_kn = zero ? 0 : taken.cell_kn;
  if (taken.indicated_kn) {
    reading.indicated_kn = *taken.indicated_kn;
  } else {
    const bool fresh = snapshot.press_fresh && snapshot.press.link == ports::LinkState::connected &&
                       clock_.monotonic_us() - snapshot.press.at_monotonic_us <= press_age_us_most;
    if (!fresh)
      return Problem{"/indicated", "a press that is not heard of",
                     "a press that answers, or the force as its own display indicates it"};
    const auto press = library_.presses.find(press_id_);
    reading.pressure_bar = snapshot.press.pressure_bar;
    reading.indicated_kn = snapshot.press.pressure_bar * press->second.ram_area_mm2 * kn_per_bar_mm2;
  }
  if (!zero) {
    const double target_kn = targets_kn()[taken.step - 1];
    const double tolerance_kn = target_tolerance_share * changed.range_kn;
    if (std::abs(reading.indicated_kn - target_kn) > tolerance_kn)
      return Problem{"/indicated", fmt::format("{:.1f} kN", reading.indicated_kn),
                     fmt::format("{:.1f} kN, within {:.1f} kN either way", target_kn, tolerance_kn)};
    if (!(taken.cell_kn > 0))
      return Problem{"/cell", fmt::format("{:g} kN", taken.cell_kn), "a force above 0"};
    // A slip of the pen, not a press: no press this far out reaches a step of its range at all.
    if (std::abs(taken.cell_kn - reading.indicated_kn) > 0.25 * reading.indicated_kn)
      return Problem{
          "/cell", fmt::format("{:g} kN", taken.cell_kn),
          fmt::format("within 25 % of the {:.1f} kN that the press indicates", reading.indicated_kn)};
  }
  if (zero) {
    if (run.zero) changed.discarded.push_back({taken.run, 0, *run.zero});
    run.zero = reading;
  } else if (taken.step <= run.readings.size()) {
    changed.discarded.push_back({taken.run, taken.step, run.readings[taken.step - 1]});
    run.readings[taken.step - 1] = reading;
  } else {
    run.readings.push_back(reading);
  }
  return keep(std::move(changed));
}

Result<ForceCalibration> ForceSession::finished(std::optional<std::int64_t> due_day) const {
  if (!running_) return nothing_runs;
  const auto result = calibration::judge(running_->series());
  if (!result.shortfalls.empty()) {
    std::string found;
    for (const auto one : result.shortfalls)
      found += (found.empty() ? "" : "; ") + std::string(calibration::words_of(one));
    return Problem{"", found, "a whole calibration"};
  }
  const bool meets = calibration::good_enough(result.of, running_->class_needed);
  ForceCalibration out = *running_;
  if (!meets) {
    if (due_day)
      return Problem{"/due", people::day_text(*due_day),
                     fmt::format("none: class {} was needed and was not reached",
                                 calibration::name_of(running_->class_needed))};
    return out;
  }
  const std::int64_t today = clock_.utc_us() / us_per_day;
  if (!due_day || *due_day <= today || *due_day > today + interval_days_most)
    return Problem{
        "/due", due_day ? people::day_text(*due_day) : "none",
        fmt::format("a day after today, {} at the latest", people::day_text(today + interval_days_most))};
  out.due_day = due_day;
  return out;
}

void ForceSession::clear() {
  running_.reset();
  std::error_code error;
  std::filesystem::remove(file_, error);
}

}  // namespace shankwright::workshop
