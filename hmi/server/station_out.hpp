#pragma once
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "hmi/server/exchange.hpp"
#include "hmi/server/json_out.hpp"

namespace shankwright::hmi {

/// The station's newest snapshot; an empty one before the first.
[[nodiscard]] std::shared_ptr<const ports::Snapshot> newest(const ports::StationPort& station);

/// Ram area of the press: of the active fitting's recipe, else of options.press_id, else of the library's
/// only press; nothing when none of these says.
[[nodiscard]] std::optional<double> ram_area_mm2(const Service& service, const ports::Snapshot& snapshot);

[[nodiscard]] Json station_json(const Service& service, const ports::Snapshot& snapshot);

/// The Station object as text, rendered once per snapshot however many screens look at it. Safe from any
/// thread.
class StationText {
 public:
  explicit StationText(const Service& service) : service_(service) {}
  [[nodiscard]] std::shared_ptr<const std::string> of(const std::shared_ptr<const ports::Snapshot>& snapshot);

 private:
  /// A text older than this is rendered again, so that ages keep counting while nothing else changes.
  static constexpr std::int64_t kept_us = 100'000;
  const Service& service_;
  std::mutex mutex_;
  std::shared_ptr<const ports::Snapshot> snapshot_;
  std::int64_t rendered_us_ = 0;
  std::shared_ptr<const std::string> text_;
};

}  // namespace shankwright::hmi
