#include "hmi/server/station_out.hpp"

#include <nlohmann/json.hpp>

#include "accounts/accounts.hpp"
#include "hmi/server/json_text.hpp"
#include "review/time.hpp"

namespace shankwright::hmi {
namespace {

Json texts(const std::vector<std::string>& list) {
  return Json(list);
}

Json cautions() {
  return texts(
      {"Shankwright is not a safety function: two-hand control, guards, emergency stop and pressure relief "
       "belong "
       "to the press.",
       "Follow the terminal and rope makers' instructions, local codes and a competent person."});
}

Json notices(const Service& service, const ports::Snapshot& snapshot) {
  Json all = service.accounts.notices();
  for (const auto& notice : snapshot.notices) all.push_back(notice);
  return all;
}

}  // namespace

std::shared_ptr<const ports::Snapshot> newest(const ports::StationPort& station) {
  auto snapshot = station.latest();
  return snapshot != nullptr ? snapshot : std::make_shared<const ports::Snapshot>();
}

std::optional<double> ram_area_mm2(const Service& service, const ports::Snapshot& snapshot) {
  if (snapshot.active != nullptr) return snapshot.active->joined.press.ram_area_mm2;
  const auto& presses = service.library.presses;
  if (!service.options.press_id.empty()) {
    const auto found = presses.find(service.options.press_id);
    return found == presses.end() ? std::nullopt : std::optional(found->second.ram_area_mm2);
  }
  return presses.size() == 1 ? std::optional(presses.begin()->second.ram_area_mm2) : std::nullopt;
}

Json station_json(const Service& service, const ports::Snapshot& snapshot) {
  return {{"name", service.shop.name},
          {"version", SHANKWRIGHT_VERSION},
          {"cautions", cautions()},
          {"press", press_json(snapshot, ram_area_mm2(service, snapshot), service.clock.monotonic_us())},
          {"active", snapshot.active != nullptr ? to_json(*snapshot.active, snapshot) : Json(nullptr)},
          {"set_aside", texts(snapshot.set_aside)},
          {"held", texts(snapshot.held)},
          {"notices", notices(service, snapshot)},
          {"snapshot_version", snapshot.version},
          {"at_utc", review::utc_text(snapshot.at_utc_us, utc_decimals)}};
}

std::shared_ptr<const std::string> StationText::of(const std::shared_ptr<const ports::Snapshot>& snapshot) {
  const std::lock_guard lock(mutex_);
  const std::int64_t now_us = service_.clock.monotonic_us();
  if (snapshot != snapshot_ || text_ == nullptr || now_us - rendered_us_ > kept_us) {
    text_ = std::make_shared<const std::string>(dump_json(station_json(service_, *snapshot)));
    snapshot_ = snapshot;
    rendered_us_ = now_us;
  }
  return text_;
}

}  // namespace shankwright::hmi
