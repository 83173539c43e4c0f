#include "diagnosis/press_habit.hpp"

#include <cmath>

namespace shankwright::diagnosis {
namespace {

constexpr int few = 4;
// What one press's sound bites scatter by, until they have shown it themselves (assumptions; oil warms over a
// day).
constexpr double assumed_log_speed = 0.015;
constexpr double assumed_lost_mm = 0.06;
// Travel lost on a press nobody has seen a bite of: oil columns of some 50 mm, little air. An assumption of
// ours (no source).
constexpr double unknown_lost_mm = 0.3, unknown_lost_deviation_mm = 0.2;
// At full flow the second stage feels wear more than the first, which mostly delivers unloaded.
constexpr double approach_feels = 0.25;
// Air slows the approach too, by how much depends on where it sits.
constexpr double air_slows = 0.1;
constexpr double stalls_when_well = 1e-4, stalls_when_weak = 0.3;

double log_t(double value, double mean, double deviation, double freedom) {
  const double z = (value - mean) / deviation;
  return -std::log(deviation) - (freedom + 1) / 2 * std::log1p(z * z / freedom);
}

}  // namespace

void Habit::add(double value) {
  ++count;
  sum += value;
  squares += value * value;
}

double Habit::deviation(double assumed) const {
  if (count == 0) return assumed;
  const double scatter = std::max(0.0, squares - sum * sum / count);
  const double variance = (scatter + few * assumed * assumed) / (count - 1 + few);
  return std::sqrt(variance * (1 + 1.0 / count));
}

void PressHabit::add(const Reading& reading) {
  if (reading.approach_mm_s) log_approach.add(std::log(*reading.approach_mm_s));
  if (reading.squeeze_mm_s) log_squeeze.add(std::log(*reading.squeeze_mm_s));
  if (reading.lost_travel_mm) lost_travel_mm.add(*reading.lost_travel_mm);
}

double machine_log_likelihood(const Reading& reading, const PressHabit& habit, double pump_share,
                              double air_travel_mm) {
  double sum = 0;
  if (reading.approach_mm_s && habit.log_approach.count > 0)
    sum += log_t(
        std::log(*reading.approach_mm_s),
        habit.log_approach.mean() + std::log(1 - approach_feels * (1 - pump_share)),
        std::hypot(habit.log_approach.deviation(assumed_log_speed), air_travel_mm > 0 ? air_slows : 0.0),
        habit.log_approach.count + few - 1);
  if (reading.squeeze_mm_s && habit.log_squeeze.count > 0)
    sum += log_t(std::log(*reading.squeeze_mm_s), habit.log_squeeze.mean() + std::log(pump_share),
                 habit.log_squeeze.deviation(assumed_log_speed), habit.log_squeeze.count + few - 1);
  if (reading.lost_travel_mm) {
    const bool known = habit.lost_travel_mm.count > 0;
    const double mean = known ? habit.lost_travel_mm.mean() : unknown_lost_mm;
    const double deviation =
        known ? habit.lost_travel_mm.deviation(assumed_lost_mm) : unknown_lost_deviation_mm;
    sum += log_t(*reading.lost_travel_mm, mean + air_travel_mm, std::hypot(deviation, 0.1 * air_travel_mm),
                 known ? habit.lost_travel_mm.count + few - 1 : 8);
  }
  const double stalls = pump_share < 0.7 ? stalls_when_weak : stalls_when_well;
  return sum + std::log(reading.stalled ? stalls : 1 - stalls);
}

}  // namespace shankwright::diagnosis
