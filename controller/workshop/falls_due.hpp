#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "library/library.hpp"
#include "people/person.hpp"

/// What runs out, most urgent first: calibrations, inspections, die life, qualifications. Pure.
namespace shankwright::workshop {

enum class DueKind : std::uint8_t {
  press_calibration,
  gauge_calibration,
  die_inspection,
  die_life,
  qualification
};
[[nodiscard]] const char* name_of(DueKind kind);

enum class Urgency : std::uint8_t { overdue, soon, later };
[[nodiscard]] const char* name_of(Urgency urgency);

/// From here on something is "soon": common practice, no source.
inline constexpr std::int64_t soon_days = 30;
inline constexpr double soon_life_share = 0.10;

struct DueItem {
  DueKind kind = DueKind::press_calibration;
  std::string id;     ///< of the press, gauge, die pair or person
  std::string about;  ///< the die pair's serial, the gauge's kind is left to the library, the recipe family
  std::optional<std::int64_t> due_day;    ///< last day; nothing where strokes count
  std::optional<std::int64_t> days_left;  ///< negative when past
  std::optional<std::int64_t> strokes_left, life_strokes;
  Urgency urgency = Urgency::later;
};

struct DueInput {
  const library::Library& library;
  const library::Shop& shop;
  const std::vector<people::Person>& people;
  std::int64_t today = 0;
  std::string press_id;
  std::optional<std::int64_t> press_due_day;  ///< of this press; nothing: not calibrated
  /// Strokes on record with a die pair; nothing when the record cannot say: its life counts as used up.
  std::function<std::optional<std::uint64_t>(const std::string& die_pair_id)> strokes;
};

/// A die pair that the library does not know has no life to count down and is told with its inspection alone.
[[nodiscard]] std::vector<DueItem> falls_due(const DueInput& input);

}  // namespace shankwright::workshop
