#pragma once
#include <atomic>
#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "hmi/server/station_out.hpp"

/// GET /events: the station as server-sent events (WHATWG HTML, 9.2).
namespace shankwright::hmi {

/// One client's stream. Used by one thread.
class EventStream {
 public:
  /// `token`: of the session that follows, empty without one.
  EventStream(const Service& service, StationText& text, std::string token, const std::atomic<bool>& stopping)
      : service_(service), text_(text), token_(std::move(token)), stopping_(stopping) {}

  static constexpr std::chrono::milliseconds apart_least{50};  ///< at most 20 events a second
  /// A sign of life while nothing changes: three of them fit into the second after which a screen calls its
  /// picture old, so that one delayed on the way is no false alarm.
  static constexpr std::chrono::milliseconds apart_most{300};

  /// Waits up to `slice` for something to send: the next event's text, or nothing yet. Always nothing once
  /// stopping.
  [[nodiscard]] std::optional<std::string> next(std::chrono::milliseconds slice);

 private:
  using Steady = std::chrono::steady_clock;
  [[nodiscard]] std::string event(const std::shared_ptr<const ports::Snapshot>& snapshot);
  void show_life(std::int64_t now_us);
  [[nodiscard]] std::string samples(const ports::Snapshot& snapshot);

  const Service& service_;
  StationText& text_;
  const std::string token_;
  const std::atomic<bool>& stopping_;
  bool begun_ = false;
  std::uint64_t sent_version_ = 0, sent_changes_ = 0;  ///< of the snapshot, and of who holds control
  Steady::time_point sent_at_{};
  std::int64_t looked_up_us_ = 0;
  std::uint16_t bite_ = 0;
  std::size_t rows_sent_ = 0;
  ports::Sample last_row_{};
};

}  // namespace shankwright::hmi
