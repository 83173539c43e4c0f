#include "diagnosis/reading.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

namespace shankwright::diagnosis {
namespace {

constexpr std::size_t fewest_samples = 20;
constexpr double touch_low_bar = 0.6,
                 touch_high_bar = 2.2;    // above idle; some ten times a good transmitter's noise
constexpr double widest_reading_mm = 60;  // 65.535 means beyond range
// First pump stage: up to this pressure. Two-stage presses switch at 40 bar or above (common practice, no
// source).
constexpr double first_stage_bar = 35;
constexpr double second_stage_bar = 48;  // the switching itself is over by then
constexpr double valve_band_bar = 35;    // below the peak a proportional valve already throttles
constexpr double oil_mm_per_bar =
    0.005;  // give of oil and frame, a middling value: only removes the coarse part

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double mm(const ports::Sample& sample) {
  return sample.gap_mm;
}

double seconds_between(const ports::Sample& one, const ports::Sample& other) {
  return (static_cast<double>(other.time_ms) - static_cast<double>(one.time_ms)) / 1000;
}

/// First sample at or above this pressure, from `from` on.
std::size_t first_above(const std::vector<ports::Sample>& trace, std::size_t from, std::size_t end,
                        double bar) {
  while (from < end && trace[from].pressure_bar < bar) ++from;
  return from;
}

/// The straight line through the samples between the two touch pressures and their neighbours, carried on to
/// idle.
double no_force_gap(const std::vector<ports::Sample>& trace, std::size_t low, std::size_t high,
                    double idle_bar) {
  const auto clamped = [&](std::size_t i) { return trace[i].pressure_bar - idle_bar; };
  // Where the rise takes one step only, the chord over that step.
  const std::size_t from = low > 0 ? low - 1 : low;
  const double rise = clamped(high) - clamped(from);
  if (high <= low + 1 || rise <= 0) {
    const double share = rise > 0 ? std::clamp((touch_low_bar - clamped(from)) / rise, 0.0, 1.0) : 1;
    return mm(trace[from]) + share * (mm(trace[high]) - mm(trace[from]));
  }
  double n = 0, p = 0, g = 0, pp = 0, pg = 0;
  for (std::size_t i = low; i <= high; ++i) {
    n += 1;
    p += clamped(i);
    g += mm(trace[i]);
    pp += clamped(i) * clamped(i);
    pg += clamped(i) * mm(trace[i]);
  }
  const double slope = (n * pg - p * g) / (n * pp - p * p);  // mm per bar, negative
  return g / n - std::max(slope, -0.3) * p / n;
}

/// Speed of the dies before contact: the last 3 mm before the touch, or what there is of them.
void read_approach(const std::vector<ports::Sample>& trace, std::size_t touch, Reading& out) {
  std::size_t from = touch;
  while (from > 0 && mm(trace[from - 1]) < mm(trace[touch]) + 3 && mm(trace[from - 1]) < widest_reading_mm)
    --from;
  const double seconds = seconds_between(trace[from], trace[touch]);
  const double travel = mm(trace[from]) - mm(trace[touch]);
  if (travel > 0.5 && seconds > 0) out.approach_mm_s = travel / seconds;
}

/// While pressure first rises the dies fall behind the oil by what oil, air and frame give.
void read_lost_travel(const std::vector<ports::Sample>& trace, std::size_t touch, std::size_t end,
                      Reading& out) {
  const std::size_t top = first_above(trace, touch, end, out.idle_bar + first_stage_bar);
  if (!out.approach_mm_s || top >= end || top <= touch) return;
  // Between samples the pressure may jump: the last step is shared out.
  const double over = trace[top].pressure_bar - (out.idle_bar + first_stage_bar);
  const double step = std::max(0.1, trace[top].pressure_bar - trace[top - 1].pressure_bar);
  const double share = std::clamp(1 - over / step, 0.0, 1.0);
  const double seconds =
      seconds_between(trace[touch], trace[top - 1]) + share * seconds_between(trace[top - 1], trace[top]);
  const double gap = mm(trace[top - 1]) + share * (mm(trace[top]) - mm(trace[top - 1]));
  out.lost_travel_mm = *out.approach_mm_s * seconds - (mm(trace[touch]) - gap);
}

/// Speed of the oil in the second stage, from the dies' speed and the pressure's rise.
void read_squeeze(const std::vector<ports::Sample>& trace, std::size_t touch, std::size_t end, Reading& out) {
  const std::size_t from = first_above(trace, touch, end, out.idle_bar + second_stage_bar);
  const std::size_t until = first_above(trace, from, end, out.peak_bar - valve_band_bar);
  if (from >= until || until >= end) return;
  std::size_t last = until;
  while (last > from && mm(trace[last]) < out.end_gap_mm + 0.05) --last;
  const double seconds = seconds_between(trace[from], trace[last]);
  const double travel = mm(trace[from]) - mm(trace[last]);
  if (seconds < 0.02 || travel < 0.03) return;
  out.squeeze_mm_s =
      (travel + oil_mm_per_bar * (trace[last].pressure_bar - trace[from].pressure_bar)) / seconds;
}

void read_quickening(const std::vector<ports::Sample>& trace, std::size_t end, Reading& out) {
  std::size_t zero = 1;
  while (zero < end && mm(trace[zero]) > 0.004) ++zero;
  std::size_t before = zero, after = zero;
  while (before > 0 && seconds_between(trace[before], trace[zero]) < 0.04) --before;
  while (after < end && seconds_between(trace[zero], trace[after]) < 0.012) ++after;
  if (zero + 2 > end || after == zero || before == zero) return;
  // In the pump's first stage the change of stage hides the faces.
  if (trace[before].pressure_bar < out.idle_bar + second_stage_bar) return;
  const auto rate = [&](std::size_t one, std::size_t other) {
    return (trace[other].pressure_bar - trace[one].pressure_bar) /
           std::max(0.001, seconds_between(trace[one], trace[other]));
  };
  const double slow = rate(before, zero), quick = rate(zero, after);
  if (slow > 20) out.quickening = std::max(0.1, quick / slow);
}

}  // namespace

std::optional<double> Reading::force_at_kn(double gap) const {
  const auto after = std::lower_bound(gap_mm.begin(), gap_mm.end(), gap, std::greater<>());
  if (after == gap_mm.end() || after == gap_mm.begin()) return std::nullopt;
  const auto i = static_cast<std::size_t>(after - gap_mm.begin());
  const double share = (gap_mm[i - 1] - gap) / (gap_mm[i - 1] - gap_mm[i]);
  return force_kn[i - 1] + share * (force_kn[i] - force_kn[i - 1]);
}

std::optional<double> Reading::gap_at_mm(double force) const {
  for (std::size_t i = 1; i < gap_mm.size(); ++i) {
    if (force_kn[i] < force) continue;
    const double rise = force_kn[i] - force_kn[i - 1];
    const double share = rise > 0 ? std::clamp((force - force_kn[i - 1]) / rise, 0.0, 1.0) : 1.0;
    return gap_mm[i - 1] + share * (gap_mm[i] - gap_mm[i - 1]);
  }
  return std::nullopt;
}

Result<Reading> read_trace(const std::vector<ports::Sample>& trace, double ram_area_mm2, double target_kn) {
  if (trace.size() < fewest_samples)
    return Problem{"trace", std::to_string(trace.size()) + " samples",
                   "at least " + std::to_string(fewest_samples)};
  Reading out;
  const auto peak = std::max_element(trace.begin(), trace.end(), [](const auto& one, const auto& other) {
    return one.pressure_bar < other.pressure_bar;
  });
  out.peak_bar = peak->pressure_bar;
  const double near_peak = out.peak_bar - std::max(0.5, 0.01 * out.peak_bar);
  const std::size_t end = first_above(trace, 0, trace.size(), near_peak);  // the dwell begins

  double widest = 0, least = widest_reading_mm;
  for (std::size_t i = 0; i <= end; ++i) {
    if (mm(trace[i]) < widest_reading_mm) widest = std::max(widest, mm(trace[i]));
    least = std::min(least, mm(trace[i]));
  }
  if (widest - least < 1)
    return Problem{"trace", "dies that did not close", "a bite from open to closed dies"};

  std::vector<double> idle;
  for (std::size_t i = 0; i <= end; ++i)
    if (mm(trace[i]) < 0.97 * widest && mm(trace[i]) > 0.55 * widest) idle.push_back(trace[i].pressure_bar);
  if (idle.size() < 5) return Problem{"trace", "no travel before contact", "samples from open dies on"};
  out.idle_bar = median(std::move(idle));
  const double kn_per_bar = ram_area_mm2 * 1e-4;
  out.peak_kn = std::max(0.0, out.peak_bar - out.idle_bar) * kn_per_bar;
  out.touch_low_kn = touch_low_bar * kn_per_bar;
  out.touch_high_kn = touch_high_bar * kn_per_bar;

  double end_sum = 0;
  int end_count = 0;
  std::size_t stands_from = end, stands_to = end;
  for (std::size_t i = end; i < trace.size() && trace[i].pressure_bar >= near_peak; ++i) {
    end_sum += mm(trace[i]);
    ++end_count;
    stands_to = i;
  }
  out.end_gap_mm = end_sum / end_count;
  out.stalled = out.peak_kn < 0.95 * target_kn && seconds_between(trace[stands_from], trace[stands_to]) > 0.5;

  if (out.peak_kn < 0.9 * target_kn && !out.stalled)
    return Problem{"trace", "a bite that ended at " + std::to_string(std::lround(out.peak_kn)) + " kN",
                   "one that reached its target of " + std::to_string(std::lround(target_kn)) +
                       " kN, or stood still below it"};

  double reached = widest_reading_mm;
  for (std::size_t i = 0; i <= end; ++i) {
    if (mm(trace[i]) >= reached) continue;
    reached = mm(trace[i]);
    out.gap_mm.push_back(reached);
    out.force_kn.push_back(std::max(0.0, trace[i].pressure_bar - out.idle_bar) * kn_per_bar);
  }
  const double most_bar = out.idle_bar + 0.9 * (out.peak_bar - out.idle_bar);
  const std::size_t at_most = first_above(trace, 0, end, most_bar);
  out.end_rise_mm = out.end_gap_mm - mm(trace[at_most]);

  read_quickening(trace, end, out);
  // Contact: the force is passed and stays passed for three samples, so that no lone spike counts.
  std::size_t touch = 1;
  const auto above = [&](std::size_t i) { return trace[i].pressure_bar - out.idle_bar > touch_low_bar; };
  const auto travelled = [&](std::size_t i) { return mm(trace[i]) < 0.97 * widest; };
  while (touch + 2 <= end && !(travelled(touch) && above(touch) && above(touch + 1) && above(touch + 2)))
    ++touch;
  if (touch + 2 > end) return out;
  const std::size_t high = first_above(trace, touch, end, out.idle_bar + touch_high_bar);
  const double touched = no_force_gap(trace, touch, high, out.idle_bar);
  if (mm(trace[touch]) < 0.08) return out;  // only the faces met
  out.touch_gap_mm = touched;
  read_approach(trace, touch, out);
  read_lost_travel(trace, touch, end, out);
  read_squeeze(trace, touch, end, out);
  return out;
}

}  // namespace shankwright::diagnosis
