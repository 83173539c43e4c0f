#pragma once
#include <cstdint>
#include <memory>
#include <string>

#include "drivers/modbus/profile.hpp"
#include "ports/ports.hpp"

namespace shankwright::modbus {

struct Options {
  std::string address;  ///< "tcp:HOST:PORT" or "rtu:DEVICE:BAUD:8N1"
  int unit_id = 1;
  int scan_period_ms = 20;       ///< press-map.md: at most 40, or samples are lost
  int stale_ms = 100;            ///< evidence older than this makes the link stale
  int response_timeout_ms = 60;  ///< a whole request and its answer; wire time is added on a serial line
  int frozen_beat_ms = 100;      ///< a node beat that stands still for longer is a dead node
  int beat_ms = 80;  ///< the station's beat is due after this; with the scan period it stays under 100 ms
  int order_spacing_ms = 30;  ///< between two orders: three node cycles
  int lost_notice_ms = 140;   ///< a lost or stale link is told again at least this often
  int backoff_first_ms = 100, backoff_most_ms = 2000;  ///< between attempts to connect, doubling
  int failures_before_reconnect = 3;                   ///< time-outs or garbled answers in a row
  std::size_t queued_scans = 3000;                     ///< one minute at 20 ms
};

/// Counts since the start, for a status page and for tests.
struct Statistics {
  std::uint64_t scans = 0, missed_scans = 0, timeouts = 0, exceptions = 0, garbled = 0, reconnects = 0;
  std::uint64_t beats_written = 0, queue_overflows = 0;
  std::int64_t longest_scan_gap_us = 0;  ///< between two good scans, without losses of the link
};

/// The press over Modbus. Owns one thread that reads at the scan rate, keeps the station's beat, writes
/// orders, and reconnects; every public call returns without waiting for the network and may come from any
/// thread.
class ModbusPress final : public ports::Press {
 public:
  /// Checks the options and starts the thread; a press that does not answer is no fault here (link says so).
  /// `clock` has to outlive the press.
  [[nodiscard]] static Result<std::shared_ptr<ModbusPress>> open(const Options& options,
                                                                 const Profile& profile,
                                                                 const ports::Clock& clock);
  ~ModbusPress() override;

  [[nodiscard]] std::vector<ports::PressScan> take_scans() override;
  void wait_for_scan(int timeout_ms) override;
  void send(const ports::PressOrder& order, std::int64_t not_after_monotonic_us) override;
  [[nodiscard]] std::vector<Dropped> take_dropped() override;
  [[nodiscard]] std::uint16_t next_token() override;
  [[nodiscard]] Statistics statistics() const;

 private:
  class Link;
  explicit ModbusPress(std::unique_ptr<Link> link);
  std::unique_ptr<Link> link_;
};

}  // namespace shankwright::modbus
