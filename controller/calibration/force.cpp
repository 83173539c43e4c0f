#include "calibration/force.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::calibration {
namespace {

bool within(double value, double limit) {
  // A reading lies on its limit as often as a decimal fraction can be written in binary: not at all.
  return std::abs(value) <= limit * (1 + 1e-9);
}

ForceClass class_of(const ForceStep& step) {
  for (const auto& limits : class_limits)
    if (within(step.q_mean_percent, limits.q_percent) && within(step.b_percent, limits.b_percent) &&
        within(step.a_percent, limits.a_percent))
      return limits.of;
  return ForceClass::none;
}

ForceClass class_of_zero(double f0_percent) {
  for (const auto& limits : class_limits)
    if (within(f0_percent, limits.f0_percent)) return limits.of;
  return ForceClass::none;
}

bool rising(const ForceRun& run) {
  return std::is_sorted(run.readings.begin(), run.readings.end(),
                        [](const auto& a, const auto& b) { return a.indicated_kn <= b.indicated_kn; });
}

bool alike(const ForceRun& a, const ForceRun& b, double range_kn) {
  if (a.readings.size() != b.readings.size()) return false;
  for (std::size_t i = 0; i < a.readings.size(); ++i)
    if (std::abs(a.readings[i].indicated_kn - b.readings[i].indicated_kn) >
        2 * step_share_tolerance * range_kn)
      return false;
  return true;
}

/// Of two angles, the short way round.
double between_deg(double a, double b) {
  const double apart = std::fmod(std::abs(a - b), 360);
  return std::min(apart, 360 - apart);
}

bool cell_turned(const std::vector<ForceRun>& runs) {
  return std::any_of(runs.begin(), runs.end(), [&](const ForceRun& run) {
    return between_deg(run.cell_angle_deg, runs.front().cell_angle_deg) >= turned_least_deg;
  });
}

bool ram_moved(const std::vector<ForceRun>& runs) {
  constexpr double apart_mm = 2;
  if (runs.size() < runs_least) return false;
  std::vector<double> positions;
  for (const auto& run : runs) {
    if (!run.ram_position_mm) return false;
    positions.push_back(*run.ram_position_mm);
  }
  std::sort(positions.begin(), positions.end());
  for (std::size_t i = 1; i < positions.size(); ++i)
    if (positions[i] - positions[i - 1] < apart_mm) return false;
  return true;
}

std::vector<Shortfall> shortfalls_of(const ForceSeries& series) {
  std::vector<Shortfall> out;
  const auto note = [&](bool broken, Shortfall what) {
    if (broken) out.push_back(what);
  };
  const auto& runs = series.runs;
  const auto any = [&](auto what) { return std::any_of(runs.begin(), runs.end(), what); };
  note(!(series.range_kn > 0), Shortfall::no_range);
  note(!(series.resolution_kn > 0), Shortfall::no_resolution);
  note(runs.size() < runs_least, Shortfall::too_few_runs);
  note(runs.empty() || any([](const auto& run) { return run.readings.size() < steps_least; }),
       Shortfall::too_few_steps);
  note(any([&](const auto& run) {
         return !run.readings.empty() && run.readings.front().indicated_kn >
                                             (first_step_share + step_share_tolerance) * series.range_kn;
       }),
       Shortfall::first_step_high);
  note(any([&](const auto& run) {
         return !run.readings.empty() &&
                run.readings.back().indicated_kn < (last_step_share - step_share_tolerance) * series.range_kn;
       }),
       Shortfall::last_step_low);
  note(any([](const auto& run) { return !rising(run); }), Shortfall::forces_not_rising);
  note(any([&](const auto& run) { return !alike(run, runs.front(), series.range_kn); }),
       Shortfall::runs_not_alike);
  note(any([](const auto& run) { return !run.zero_kn.has_value(); }), Shortfall::zero_missing);
  note(runs.size() >= runs_least && !cell_turned(runs), Shortfall::cell_not_turned);
  note(any([](const auto& run) {
         return std::any_of(run.readings.begin(), run.readings.end(),
                            [](const auto& reading) { return !(reading.cell_kn > 0); });
       }),
       Shortfall::cell_reads_nothing);
  return out;
}

}  // namespace

double indication_error_percent(const ForceReading& reading) {
  return 100 * (reading.indicated_kn - reading.cell_kn) / reading.cell_kn;
}

double zero_error_percent(double zero_kn, double range_kn) {
  return 100 * zero_kn / range_kn;
}

double resolution_percent(double resolution_kn, double indicated_kn) {
  return 100 * resolution_kn / indicated_kn;
}

ForceResult judge(const ForceSeries& series) {
  ForceResult out;
  out.shortfalls = shortfalls_of(series);
  std::size_t whole_steps = series.runs.empty() ? 0 : series.runs.front().readings.size();
  for (const auto& run : series.runs) whole_steps = std::min(whole_steps, run.readings.size());
  ForceClass worst = ForceClass::half;
  for (std::size_t i = 0; i < whole_steps; ++i) {
    ForceStep step;
    for (const auto& run : series.runs) {
      step.indicated_kn += run.readings[i].indicated_kn / static_cast<double>(series.runs.size());
      step.q_percent.push_back(indication_error_percent(run.readings[i]));
    }
    for (const double q : step.q_percent)
      step.q_mean_percent += q / static_cast<double>(step.q_percent.size());
    const auto [least, most] = std::minmax_element(step.q_percent.begin(), step.q_percent.end());
    step.b_percent = *most - *least;
    step.a_percent = resolution_percent(series.resolution_kn, step.indicated_kn);
    step.of = class_of(step);
    worst = std::max(worst, step.of);
    out.steps.push_back(std::move(step));
  }
  for (const auto& run : series.runs) {
    if (!run.zero_kn || !(series.range_kn > 0)) continue;
    const double f0 = zero_error_percent(*run.zero_kn, series.range_kn);
    if (std::abs(f0) > std::abs(out.f0_percent)) out.f0_percent = f0;
  }
  worst = std::max(worst, class_of_zero(out.f0_percent));
  out.ram_moved_between_runs = ram_moved(series.runs);
  out.of = out.shortfalls.empty() && !out.steps.empty() ? worst : ForceClass::none;
  return out;
}

std::vector<double> step_targets_kn(double range_kn, std::size_t count) {
  std::vector<double> out;
  const std::size_t steps = std::max(count, steps_least);
  for (std::size_t i = 0; i < steps; ++i)
    out.push_back(range_kn * std::lerp(first_step_share, last_step_share,
                                       static_cast<double>(i) / static_cast<double>(steps - 1)));
  return out;
}

bool good_enough(ForceClass found, ForceClass needed) {
  return found != ForceClass::none && needed != ForceClass::none && found <= needed;
}

}  // namespace shankwright::calibration
