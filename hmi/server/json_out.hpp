#pragma once
#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "library/library.hpp"
#include "ports/station_port.hpp"

/// Checked values to JSON, field for field as hmi/openapi.yaml says. Numbers that are not finite, and a gap
/// beyond the press's range, become null: JSON has no other honest word for them.
namespace shankwright::hmi {

using Json = nlohmann::ordered_json;

/// Times are told to the millisecond.
inline constexpr int utc_decimals = 3;

/// A measured number, or null when it is not finite.
[[nodiscard]] Json number(double value);
/// A gap in mm, or null when it is not finite or beyond range (65.535, press-map.md).
[[nodiscard]] Json gap_number(double gap_mm);
/// F = p A (mechanics.md), rounded to 0.001 kN; null while the ram area is unknown. bar x mm2 = 1e-4 kN.
[[nodiscard]] Json force_number(double pressure_bar, std::optional<double> ram_area_mm2);

[[nodiscard]] Json to_json(const recipe::Band& band);
[[nodiscard]] Json to_json(const procedure::Finding& finding);
[[nodiscard]] Json to_json(const std::vector<procedure::Finding>& findings);
[[nodiscard]] Json to_json(const ports::FittingView& fitting, const ports::Snapshot& snapshot);
[[nodiscard]] Json to_json(const library::Person& person);

/// The press as `now_monotonic_us` finds it: its age is judged now, and a snapshot older than
/// snapshot_age_most_us is not fresh whatever it said when it was taken, for then the station's own loop has
/// stopped.
[[nodiscard]] Json press_json(const ports::Snapshot& snapshot, std::optional<double> ram_area_mm2,
                              std::int64_t now_monotonic_us);
inline constexpr std::int64_t snapshot_age_most_us = 1'000'000;

/// What the library and the shop's register hold, and who may sign in. `today` is days since 1970-01-01.
[[nodiscard]] Json library_json(const library::Library& library, const library::Shop& shop,
                                const std::vector<people::Person>& people, std::int64_t today);

}  // namespace shankwright::hmi
