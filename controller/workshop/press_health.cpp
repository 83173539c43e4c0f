#include "workshop/press_health.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

namespace shankwright::workshop {
namespace {

using nlohmann::json;

constexpr std::array<std::string_view, 5> told = {"link_lost", "link_connected", "clear_fault",
                                                  "zero_pressure", "open_dies"};
constexpr std::int64_t us_per_hour = 3'600'000'000;
/// Looked back so far, the nearest first, until there is enough.
constexpr std::array<std::int64_t, 4> look_back_hours = {2, 24, 7 * 24, 31 * 24};
constexpr std::size_t fittings_enough = 15, fittings_most = 30;

}  // namespace

Result<std::vector<HealthEvent>> PressHealth::events() const {
  const std::lock_guard lock(mutex_);
  const auto entries = record_.entries_of_kind("station", read_to_);
  if (!entries) return entries.problem();
  for (const auto& stored : entries.value()) {
    read_to_ = stored.sequence;
    if (std::find(told.begin(), told.end(), stored.entry.event) == told.end()) continue;
    const json body = json::parse(stored.entry.body_json, nullptr, false);
    HealthEvent event{stored.entry.at_utc_us, stored.entry.event, stored.entry.actor, "", 0};
    if (body.is_object()) {
      if (const auto at = body.find("problem"); at != body.end() && at->is_string())
        event.detail = at->get<std::string>();
      if (const auto at = body.find("fault_code"); at != body.end() && at->is_number_integer())
        event.fault_code = at->get<int>();
    }
    events_.push_back(std::move(event));
  }
  if (events_.size() > events_most) events_.erase(events_.begin(), events_.end() - events_most);
  return std::vector<HealthEvent>(events_.rbegin(), events_.rend());
}

Result<std::vector<HoldPoint>> PressHealth::holds() const {
  const std::lock_guard lock(mutex_);
  std::vector<ports::FittingRow> rows;
  for (const std::int64_t hours : look_back_hours) {
    ports::FittingFilter filter;
    filter.from_utc_us = clock_.utc_us() - hours * us_per_hour;
    filter.limit = 1000;
    auto found = record_.find(filter);
    if (!found) return found.problem();
    rows = std::move(found).value();
    if (rows.size() >= fittings_enough) break;
  }
  std::sort(rows.begin(), rows.end(),
            [](const auto& a, const auto& b) { return a.started_utc_us < b.started_utc_us; });
  if (rows.size() > fittings_most) rows.erase(rows.begin(), rows.end() - fittings_most);
  for (const auto& row : rows) {
    if (!looked_at_.insert(row.serial + " " + std::to_string(row.changed_utc_us)).second) continue;
    const auto entries = record_.entries(row.serial, true);
    if (!entries) return entries.problem();
    std::erase_if(holds_, [&](const auto& point) { return point.serial == row.serial; });
    for (const auto& stored : entries.value())
      if (const auto slope = hold_slope(stored.entry.trace))
        holds_.push_back({row.serial, stored.sequence, stored.entry.at_utc_us, *slope});
  }
  std::sort(holds_.begin(), holds_.end(),
            [](const auto& a, const auto& b) { return a.sequence < b.sequence; });
  if (holds_.size() > holds_most) holds_.erase(holds_.begin(), holds_.end() - holds_most);
  return holds_;
}

}  // namespace shankwright::workshop
