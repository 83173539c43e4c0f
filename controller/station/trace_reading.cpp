#include "station/trace_reading.hpp"

#include <algorithm>

namespace shankwright::station {

double force_kn(double pressure_bar, double ram_area_mm2) {
  return pressure_bar * 0.1 * ram_area_mm2 / 1000.0;
}
double pressure_bar(double force_kn, double ram_area_mm2) {
  return force_kn * 1000.0 / (0.1 * ram_area_mm2);
}

double peak_pressure_bar(const std::vector<ports::Sample>& trace) {
  double peak = 0;
  for (const auto& sample : trace) peak = std::max(peak, sample.pressure_bar);
  return peak;
}

std::vector<double> force_at_gaps_kn(const std::vector<ports::Sample>& trace,
                                     const std::vector<recipe::ForceAtGap>& envelope, double ram_area_mm2) {
  const auto closed = std::min_element(trace.begin(), trace.end(), [](const auto& one, const auto& other) {
    return one.gap_mm < other.gap_mm;
  });
  std::vector<double> forces;
  for (const auto& point : envelope) {
    double found_kn = 0;
    for (auto after = trace.begin(); after != trace.end() && after <= closed; ++after) {
      if (after->gap_mm > point.gap_mm) continue;
      if (after != trace.begin()) {
        const auto before = after - 1;
        const double travelled = before->gap_mm - after->gap_mm;
        const double share = travelled > 0 ? (before->gap_mm - point.gap_mm) / travelled : 1.0;
        found_kn = force_kn(before->pressure_bar + share * (after->pressure_bar - before->pressure_bar),
                            ram_area_mm2);
      }
      break;
    }
    forces.push_back(found_kn);
  }
  return forces;
}

}  // namespace shankwright::station
