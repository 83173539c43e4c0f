#pragma once
#include <condition_variable>
#include <mutex>
#include <thread>

#include "drivers/modbus/client.hpp"
#include "drivers/modbus/order_queue.hpp"
#include "drivers/modbus/press.hpp"
#include "drivers/modbus/scan_queue.hpp"
#include "drivers/modbus/scanner.hpp"

namespace shankwright::modbus {

/// The thread behind ModbusPress. What the thread and the callers share lies under one mutex and is never
/// held over a network call; everything else belongs to the thread alone.
class ModbusPress::Link {
 public:
  Link(const Options& options, const Profile& profile, const ports::Clock& clock,
       std::shared_ptr<Client> client);
  ~Link();

  std::vector<ports::PressScan> take_scans();
  void wait_for_scan(int timeout_ms);
  void send(const ports::PressOrder& order, std::int64_t not_after_us);
  std::vector<ports::Press::Dropped> take_dropped();
  std::uint16_t next_token();
  Statistics statistics() const;

 private:
  // The thread.
  void run();
  void try_to_connect();
  void scan();
  void learn_token();
  void keep_beat();
  void write_orders();
  void write_order(OrderQueue::Waiting waiting);
  void take_failure(const Outcome& outcome, const std::string& doing);
  void restart_connection(const std::string& words);
  void lose(const std::string& words);
  void judge_age();
  void schedule_attempt();
  void announce(ports::LinkState state, const std::string& words);
  void publish(ports::PressScan scan);
  void wait();
  [[nodiscard]] bool evidence_is_fresh() const;
  [[nodiscard]] std::int64_t now_us() const { return clock_.monotonic_us(); }
  [[nodiscard]] std::int64_t beat_due_us() const;

  const Options options_;
  const Profile profile_;
  const ports::Clock& clock_;
  std::shared_ptr<Client> client_;
  Scanner scanner_;

  ports::LinkState link_ = ports::LinkState::never_connected;
  std::string failure_words_;       ///< why the last request failed; empty after a good scan
  std::int64_t last_good_us_ = -1;  ///< when the last answer that could be decoded was complete; -1 none yet
  std::int64_t last_published_us_ = -1;
  std::int64_t next_scan_us_ = 0, next_attempt_us_ = 0, next_token_try_us_ = 0;
  int backoff_ms_ = 0;
  int failures_in_a_row_ = 0;
  bool productive_ = false;  ///< a good answer came on this connection
  bool gap_counts_ = false;  ///< the next scan's distance to the last one is a scan gap
  std::uint16_t beat_ = 0;
  std::int64_t last_beat_us_ = -1;  ///< -1: due at once
  std::string beat_refused_;        ///< why the press does not take the beat; empty when it does
  std::uint64_t scan_number_ = 0, link_losses_ = 0;

  mutable std::mutex mutex_;
  std::condition_variable scan_there_, work_there_;
  bool stop_ = false, orders_changed_ = false;
  ScanQueue queue_;
  OrderQueue orders_;
  std::uint16_t echo_ = 0;
  Statistics statistics_;

  std::thread thread_;  ///< last: starts when everything above stands
};

}  // namespace shankwright::modbus
