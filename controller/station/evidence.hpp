#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "library/library.hpp"
#include "ports/ports.hpp"
#include "procedure/event.hpp"
#include "station/quarantines.hpp"

/// Turns what the shop register and the newest scan say into the flags that the core decides on. Pure.
namespace shankwright::station {

/// The press as one scan shows it, at the time `now_us`. Older than `stale_ms`, a lost link, a frozen beat:
/// not fresh.
[[nodiscard]] procedure::PressEvidence press_evidence(const ports::PressScan& scan, std::int64_t now_us,
                                                      std::int64_t stale_ms);

struct Asked {
  std::optional<people::Person> person;  ///< nothing: unknown, or not signed in
  std::string rope_lot, terminal_lot;
  std::int64_t today = 0;                    ///< days since 1970-01-01
  std::uint64_t strokes_since_register = 0;  ///< bites in the record made with the die pair
  bool record_has_room = false;
  /// Last day of the press's calibration; nothing: none, or nobody knows.
  std::optional<std::int64_t> press_calibrated_until_day{};
};
[[nodiscard]] procedure::Admit admission(const Asked& asked, const recipe::JoinedRecipe& joined,
                                         const library::Shop& shop, const Quarantines& quarantines);

/// The gauge that a reading was taken with: an empty name stands for the recipe's own go or no-go gauge.
[[nodiscard]] std::string gauge_meant(const procedure::Event& event, const std::string& gauge_id,
                                      const recipe::JoinedRecipe& joined);

/// Judges the gauge (gauge_meant) for the value that `event` carries.
[[nodiscard]] procedure::Tool tool_for(const procedure::Event& event, const std::string& gauge_id,
                                       const recipe::JoinedRecipe& joined, const library::Shop& shop,
                                       const Quarantines& quarantines, std::int64_t today);

}  // namespace shankwright::station
