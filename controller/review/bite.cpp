#include "review/bite.hpp"

#include <algorithm>

namespace shankwright::review {

TraceSummary summary_of(const std::vector<ports::Sample>& trace) {
  TraceSummary out{trace.front().pressure_bar, trace.front().gap_mm,
                   trace.back().time_ms - trace.front().time_ms, 0};
  for (std::size_t index = 0; index < trace.size(); ++index) {
    out.peak_pressure_bar = std::max(out.peak_pressure_bar, trace[index].pressure_bar);
    out.least_gap_mm = std::min(out.least_gap_mm, trace[index].gap_mm);
    if (index > 0)
      out.longest_step_ms = std::max(out.longest_step_ms, trace[index].time_ms - trace[index - 1].time_ms);
  }
  return out;
}

std::vector<double> pressure_while_closing(const std::vector<ports::Sample>& trace, std::size_t bins) {
  if (trace.empty() || bins == 0) return {};
  const auto closed = std::min_element(trace.begin(), trace.end(), [](const auto& left, const auto& right) {
    return left.gap_mm < right.gap_mm;
  });
  const double peak = summary_of(trace).peak_pressure_bar;
  const auto begun = std::find_if(trace.begin(), closed, [&](const auto& sample) {
    return sample.pressure_bar >= peak / 20 && sample.pressure_bar > 0;
  });
  const double way = begun->gap_mm - closed->gap_mm;
  if (begun == closed || !(way > 0)) return {};
  std::vector<double> out(bins, -1);
  for (auto sample = begun; sample <= closed; ++sample) {
    const double part = std::clamp((begun->gap_mm - sample->gap_mm) / way, 0.0, 1.0);
    auto& bin = out[std::min(bins - 1, static_cast<std::size_t>(part * static_cast<double>(bins)))];
    bin = std::max(bin, sample->pressure_bar);
  }
  double before = 0;
  for (auto& value : out) before = value = value < 0 ? before : value;
  return out;
}

}  // namespace shankwright::review
