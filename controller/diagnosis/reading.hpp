#pragma once
#include <optional>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// What one bite's samples say by themselves, before any model is asked. Pure. mm, kN, bar, seconds.
namespace shankwright::diagnosis {

/// The closing part of a trace as force against gap, and how the machine moved. Force is (pressure - idle)
/// times ram area: the pressure the dies need on air (seals, weight, zero drift) is taken off, the trace's
/// own upper half of the travel says how much that is.
struct Reading {
  std::vector<double> gap_mm;    ///< falling; a sample that goes back up is passed over
  std::vector<double> force_kn;  ///< at the same samples
  double idle_bar = 0;
  double peak_bar = 0;
  double peak_kn = 0;     ///< from peak_bar, idle taken off
  double end_gap_mm = 0;  ///< mean while the pressure stands at its peak
  double end_rise_mm =
      0;  ///< end_gap_mm less the gap when nine tenths of the peak force were reached: below 0 while
          ///< metal still gives, 0 when the faces have met, above 0 when the reading moves with force
  double touch_low_kn = 0, touch_high_kn = 0;  ///< forces between which first contact is told
  /// First contact: the line through the samples between those two, carried on to no force. None: nothing
  /// was touched.
  std::optional<double> touch_gap_mm;
  std::optional<double> approach_mm_s, squeeze_mm_s;  ///< die speed before contact; oil's while squeezing
  std::optional<double>
      lost_travel_mm;  ///< by how much the dies fell behind the oil while pressure first rose
  /// By how much the pressure's rise quickens when the gap first reads nothing: some 2 to 5 where the faces
  /// meet, 1 where metal goes on giving because the reading is too small (the register knows no gap below 0).
  std::optional<double> quickening;
  bool stalled = false;  ///< the pressure stood still for half a second or more below the target

  /// Between the two samples on either side; none when the closing never got there.
  [[nodiscard]] std::optional<double> force_at_kn(double gap) const;
  /// Gap when this force was first passed.
  [[nodiscard]] std::optional<double> gap_at_mm(double force) const;
};

/// Problem when the samples are too few, the dies did not close, or the bite was ended before its target.
[[nodiscard]] Result<Reading> read_trace(const std::vector<ports::Sample>& trace, double ram_area_mm2,
                                         double target_kn);

}  // namespace shankwright::diagnosis
