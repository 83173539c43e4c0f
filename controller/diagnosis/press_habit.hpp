#pragma once
#include <vector>

#include "diagnosis/reading.hpp"

/// How fast one press moves when it is well, from its own accepted bites. No drawing says it, so before any
/// bite nothing can be said of the pump, and of air only that much travel was lost.
namespace shankwright::diagnosis {

/// A quantity seen `count` times; the next sound one lies about the mean as Student's t.
struct Habit {
  int count = 0;
  double sum = 0, squares = 0;
  void add(double value);
  [[nodiscard]] double mean() const { return count > 0 ? sum / count : 0; }
  /// Of the next one: scatter seen so far, counted together with `few` values of an assumed scatter.
  [[nodiscard]] double deviation(double assumed) const;
};

struct PressHabit {
  Habit log_approach, log_squeeze, lost_travel_mm;
  void add(const Reading& reading);
};

/// Logarithm of the likelihood of what the trace says of the machine, if it delivered `pump_share` of its oil
/// and lost `air_travel_mm` more. Comparable between calls for one reading only.
[[nodiscard]] double machine_log_likelihood(const Reading& reading, const PressHabit& habit,
                                            double pump_share, double air_travel_mm);

}  // namespace shankwright::diagnosis
