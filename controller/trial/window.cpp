#include "trial/window.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::trial {
namespace {

constexpr double least_limit_ratio = 1.08;  // force limit over target
constexpr double capacity_used = 0.85;      // 15 % margin
constexpr double closing_share = 0.999;
constexpr double room_above = 1.08;  // for what no model of the population knows

struct Upper {
  double force_kn;
  UpperEnd end;
};
Upper upper_of(const recipe::JoinedRecipe& joined, double press_share) {
  const double pressure_kn = joined.press.pressure_max_bar * joined.press.ram_area_mm2 / 1e4;
  const double press_factor = std::min(press_share, 1 / least_limit_ratio);
  Upper out{joined.die_pair.rated_force_kn / least_limit_ratio, UpperEnd::die_rating};
  const auto take = [&](double force_kn, UpperEnd end) {
    if (force_kn < out.force_kn) out = {force_kn, end};
  };
  take(joined.press.capacity_kn * press_factor, UpperEnd::press_capacity);
  take(pressure_kn * press_factor, UpperEnd::press_pressure);
  return out;
}

double rounded_down_kn(double force_kn) {
  const double step = force_kn < 50 ? 0.5 : 1;
  return std::floor(force_kn / step + 1e-9) * step;
}

}  // namespace

const char* name_of(UpperEnd end) {
  switch (end) {
    case UpperEnd::die_rating:
      return "die rating";
    case UpperEnd::press_capacity:
      return "press capacity";
    case UpperEnd::press_pressure:
      return "press pressure";
  }
  return "";
}

double settable_kn(double force_kn) {
  const double step = force_kn < 50 ? 0.5 : 1;
  return std::ceil(force_kn / step - 1e-9) * step;
}

Window window_of(const Bench& bench, const std::vector<double>& against_kn,
                 const std::vector<double>& corner_n_per_mm, double force_error) {
  Window out;
  out.force_limit_kn_max = bench.ceiling_kn;
  out.population_kn = Quantiles(against_kn).at(closing_share) * (1 + force_error);
  if (!corner_n_per_mm.empty()) {
    const Drawn against = press_against(bench.scatters, {});
    double most_kn = 0;
    for (std::size_t p = 0; p < corner_n_per_mm.size() && p < bench.engaged_mm.size(); ++p)
      most_kn = std::max(most_kn, corner_n_per_mm[p] * bench.engaged_mm[p] / 1000);
    out.corner_kn = most_kn / (1 - against[PressInput::seal_friction]) *
                    (1 + against[PressInput::pressure_sensor]) / (1 + against[PressInput::overshoot]);
  }
  Upper upper = upper_of(bench.joined, capacity_used);
  if (upper.force_kn < out.population_kn && upper.end != UpperEnd::die_rating) {
    out.margin_held = false;
    upper = upper_of(bench.joined, 1);
  }
  out.upper_kn = upper.force_kn;
  out.upper_end = upper.end;
  const double highest_kn = rounded_down_kn(out.upper_kn);
  out.empty = settable_kn(out.population_kn) > highest_kn;
  if (out.empty) return out;
  out.recommended_kn = std::min(settable_kn(room_above * out.population_kn), highest_kn);
  out.corner_closes = out.corner_kn && *out.corner_kn <= out.recommended_kn;
  return out;
}

}  // namespace shankwright::trial
