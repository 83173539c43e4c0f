#include "workshop/hold_slope.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::workshop {
namespace {

constexpr double reached_share = 0.995, held_share = 0.97, settle_ms = 50, hold_ms_least = 200;
constexpr std::size_t samples_least = 20;
constexpr double ms_per_min = 60'000;

}  // namespace

std::optional<HoldSlope> hold_slope(const std::vector<ports::Sample>& trace) {
  if (trace.empty()) return std::nullopt;
  const auto peak = std::max_element(trace.begin(), trace.end(), [](const auto& a, const auto& b) {
    return a.pressure_bar < b.pressure_bar;
  });
  const double held_bar = held_share * peak->pressure_bar;
  const auto held = [&](const ports::Sample& sample) { return sample.pressure_bar >= held_bar; };
  const auto first = std::find_if(trace.begin(), trace.end(), [&](const ports::Sample& sample) {
    return sample.pressure_bar >= reached_share * peak->pressure_bar;
  });
  const auto last = std::find_if(trace.rbegin(), trace.rend(), held).base();
  double sum_time = 0, sum_bar = 0;
  std::size_t count = 0;
  const auto each = [&](auto&& use) {
    for (auto at = first; at != last; ++at)
      if (at->time_ms >= first->time_ms + settle_ms) use(static_cast<double>(at->time_ms), at->pressure_bar);
  };
  each([&](double time_ms, double bar) {
    sum_time += time_ms;
    sum_bar += bar;
    ++count;
  });
  const double held_ms = static_cast<double>((last - 1)->time_ms) - (first->time_ms + settle_ms);
  if (count < samples_least || held_ms < hold_ms_least) return std::nullopt;
  const double n = static_cast<double>(count);
  const double mean_ms = sum_time / n, mean_bar = sum_bar / n;
  double spread = 0, together = 0;
  each([&](double time_ms, double bar) {
    spread += (time_ms - mean_ms) * (time_ms - mean_ms);
    together += (time_ms - mean_ms) * (bar - mean_bar);
  });
  const double slope = together / spread;
  double left = 0;
  each([&](double time_ms, double bar) {
    const double off = bar - mean_bar - slope * (time_ms - mean_ms);
    left += off * off;
  });
  const double error = std::sqrt(left / (n - 2) / spread);
  return HoldSlope{slope * ms_per_min, 2 * error * ms_per_min, mean_bar, held_ms};
}

}  // namespace shankwright::workshop
