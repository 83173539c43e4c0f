#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "review/evidence.hpp"

/// What was read with a gauge or off the press, each against the limits it was judged by.
namespace shankwright::review {

enum class Dimension { length, angle, fraction, force, duration, words };

enum class Against {
  no_limits,
  inside,
  outside,
  not_proven  ///< inside the limits, but nearer to one than the gauge's uncertainty
};

struct Measurement {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string event, name;  ///< "across_flats", "across flats"
  std::string actor, gauge, gauge_calibration_due;
  Dimension dimension = Dimension::length;
  std::vector<double> values;         ///< mm, degrees, fraction, kN or ms
  std::string words, wanted;          ///< of a limit gauge or a look: "passes", "sound"
  std::optional<double> least, most;  ///< in the values' unit
  std::optional<double> expanded_uncertainty;
  std::optional<int> pass, bite;
  bool superseded = false;  ///< read again later, or void since a re-press
  Against against = Against::no_limits;
};

/// Oldest first, refused readings left out. Growth and slip stand as what follows from the readings
/// (procedure/state.hpp has the formulas), under the entry that completed them; peak force, dwell and least
/// gap of every bite are among them; a proof load gives force, hold and slip.
[[nodiscard]] std::vector<Measurement> measurements(const Evidence& evidence);

}  // namespace shankwright::review
