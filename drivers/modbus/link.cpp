#include "drivers/modbus/link.hpp"

#include <spdlog/spdlog.h>

#include <algorithm>
#include <chrono>

namespace shankwright::modbus {
namespace {

constexpr std::int64_t ms = 1000;
constexpr std::int64_t token_retry_us = 500 * ms;

/// An answer that says the order was looked at and nothing was taken. Any other exception (a slow
/// acknowledge, a failure while acting, a gateway that heard nothing back) leaves open whether it arrived.
bool surely_not_taken(int exception_code) {
  return exception_code == 1 || exception_code == 2 || exception_code == 3 || exception_code == 6 ||
         exception_code == 10;
}

}  // namespace

ModbusPress::Link::Link(const Options& options, const Profile& profile, const ports::Clock& clock,
                        std::shared_ptr<Client> client)
    : options_(options),
      profile_(profile),
      clock_(clock),
      client_(std::move(client)),
      scanner_(profile_, *client_, clock_, options.frozen_beat_ms),
      queue_(options.queued_scans),
      thread_([this] { run(); }) {}

ModbusPress::Link::~Link() {
  {
    const std::lock_guard lock(mutex_);
    stop_ = true;
  }
  work_there_.notify_all();
  scan_there_.notify_all();
  thread_.join();
}

// What callers of any thread use.

std::vector<ports::PressScan> ModbusPress::Link::take_scans() {
  const std::lock_guard lock(mutex_);
  return queue_.take();
}

void ModbusPress::Link::wait_for_scan(int timeout_ms) {
  std::unique_lock lock(mutex_);
  scan_there_.wait_for(lock, std::chrono::milliseconds(timeout_ms), [&] { return stop_ || !queue_.empty(); });
}

void ModbusPress::Link::send(const ports::PressOrder& order, std::int64_t not_after_us) {
  const Result<std::vector<std::uint16_t>> registers = encode(profile_, order);
  {
    const std::lock_guard lock(mutex_);
    if (!registers.ok()) {
      orders_.drop(order.token, registers.problem().text(), false);
      return;
    }
    orders_.add({order, registers.value(), not_after_us});
    orders_changed_ = true;
  }
  work_there_.notify_all();
}

std::vector<ports::Press::Dropped> ModbusPress::Link::take_dropped() {
  const std::lock_guard lock(mutex_);
  return orders_.take_dropped();
}

std::uint16_t ModbusPress::Link::next_token() {
  const std::lock_guard lock(mutex_);
  return orders_.next_token(echo_);
}

Statistics ModbusPress::Link::statistics() const {
  const std::lock_guard lock(mutex_);
  Statistics out = statistics_;
  out.queue_overflows = queue_.overflowed();
  return out;
}

// The thread.

void ModbusPress::Link::run() {
  next_scan_us_ = now_us();
  for (;;) {
    {
      const std::lock_guard lock(mutex_);
      if (stop_) return;
      orders_changed_ = false;
      orders_.drop_late(now_us(), link_ == ports::LinkState::connected ? "" : failure_words_);
    }
    if (!client_->connected() && now_us() >= next_attempt_us_) try_to_connect();
    // The beat first: it is what keeps a running bite alive when everything else is slow.
    if (client_->connected() && scanner_.map_proven() && now_us() >= beat_due_us()) keep_beat();
    if (client_->connected() && scanner_.map_proven()) write_orders();
    if (client_->connected() && now_us() >= next_scan_us_) scan();
    if (client_->connected() && scanner_.map_proven()) learn_token();
    judge_age();
    wait();
  }
}

void ModbusPress::Link::wait() {
  const std::int64_t now = now_us();
  std::int64_t until = last_published_us_ + options_.lost_notice_ms * ms;
  if (client_->connected()) {
    until = std::min(until, next_scan_us_);
    if (scanner_.map_proven()) until = std::min(until, beat_due_us());
  } else {
    until = std::min(until, next_attempt_us_);
  }
  std::unique_lock lock(mutex_);
  if (until <= now) return;
  work_there_.wait_for(lock, std::chrono::microseconds(until - now),
                       [&] { return stop_ || orders_changed_; });
}

std::int64_t ModbusPress::Link::beat_due_us() const {
  return last_beat_us_ < 0 ? 0 : last_beat_us_ + options_.beat_ms * ms;
}

bool ModbusPress::Link::evidence_is_fresh() const {
  return link_ == ports::LinkState::connected && now_us() - last_good_us_ <= options_.stale_ms * ms;
}

void ModbusPress::Link::schedule_attempt() {
  backoff_ms_ =
      backoff_ms_ == 0 ? options_.backoff_first_ms : std::min(2 * backoff_ms_, options_.backoff_most_ms);
  next_attempt_us_ = now_us() + backoff_ms_ * ms;
}

void ModbusPress::Link::try_to_connect() {
  const Outcome outcome = client_->connect();
  if (!outcome.ok()) {
    schedule_attempt();
    const bool news = outcome.words != failure_words_;
    failure_words_ = outcome.words;
    if (news || last_published_us_ < 0) announce(link_, failure_words_);
    return;
  }
  productive_ = false;
  failures_in_a_row_ = 0;
  next_scan_us_ = now_us();
  next_token_try_us_ = 0;
  last_beat_us_ = -1;
  const std::lock_guard lock(mutex_);
  ++statistics_.reconnects;
}

void ModbusPress::Link::scan() {
  const std::int64_t period_us = options_.scan_period_ms * ms;
  const std::int64_t missed = (now_us() - next_scan_us_) / period_us;
  next_scan_us_ += (missed + 1) * period_us;  // on the grid of the first scan: lateness does not add up
  const Outcome outcome = scanner_.scan_once();
  {
    const std::lock_guard lock(mutex_);
    statistics_.missed_scans += static_cast<std::uint64_t>(missed);
  }
  if (!outcome.ok()) return take_failure(outcome, "reading the press");
  failures_in_a_row_ = 0;
  backoff_ms_ = 0;
  productive_ = true;
  ports::PressScan scan = scanner_.scan();
  if (scan.link == ports::LinkState::connected && !beat_refused_.empty()) {
    scan.link = ports::LinkState::stale;
    scan.link_problem = beat_refused_;
  }
  failure_words_ = scan.link_problem;
  {
    const std::lock_guard lock(mutex_);
    ++statistics_.scans;
    const std::int64_t gap_us = scan.at_monotonic_us - last_good_us_;
    if (gap_counts_) statistics_.longest_scan_gap_us = std::max(statistics_.longest_scan_gap_us, gap_us);
    echo_ = scan.permit_echo;
  }
  if (scanner_.map_proven() && scan.at_monotonic_us > 0) {
    last_good_us_ = scan.at_monotonic_us;
    gap_counts_ = true;
  }
  publish(std::move(scan));
}

void ModbusPress::Link::learn_token() {
  {
    const std::lock_guard lock(mutex_);
    if (orders_.held() || now_us() < next_token_try_us_) return;
  }
  next_token_try_us_ = now_us() + token_retry_us;
  std::optional<std::uint16_t> held;
  if (profile_.read_back_function) {
    std::vector<std::uint16_t> registers(profile_.read_back_window.count);
    const Outcome outcome = client_->read(*profile_.read_back_function, profile_.read_back_window, registers);
    if (outcome.ok()) {
      const auto at = [&](const Field& field) {
        return static_cast<std::uint16_t>(get_counts(
            field, registers, static_cast<std::size_t>(field.address - profile_.read_back_window.start)));
      };
      held = at(profile_[OrderField::order_token]);
      beat_ = at(profile_.station_beat);
    } else if (outcome.kind != Outcome::Kind::exception) {
      next_token_try_us_ = 0;
      return take_failure(outcome, "reading back the order");
    }
  }
  if (!held) {
    // The press does not let its order be read. While a permit is taken its token is the echo. Otherwise,
    // with the dies at rest, an order of kind none with token 0 is written: it asks for nothing and makes any
    // token a change.
    constexpr std::uint16_t taken = 1;
    const ports::PressScan& last = scanner_.scan();
    const bool at_rest = last.phase == 0 || last.phase == 1 || last.phase == 6;
    if (last.permit_state == taken) {
      held = last.permit_echo;
    } else if (at_rest) {
      const Result<std::vector<std::uint16_t>> nothing = encode(profile_, ports::PressOrder{});
      if (!nothing.ok()) return;
      const Outcome outcome = client_->write_many(profile_.order_window.start, nothing.value());
      if (!outcome.ok()) return take_failure(outcome, "clearing the order token");
      held = std::uint16_t{0};
    } else {
      return;
    }
  }
  const std::lock_guard lock(mutex_);
  orders_.learn_held(*held);
}

void ModbusPress::Link::keep_beat() {
  last_beat_us_ = now_us();
  ++beat_;
  const std::uint16_t value = beat_;
  const Outcome outcome = profile_.beat_function == 6
                              ? client_->write_one(profile_.station_beat.address, value)
                              : client_->write_many(profile_.station_beat.address, {&value, 1});
  if (outcome.ok()) {
    beat_refused_.clear();
    const std::lock_guard lock(mutex_);
    ++statistics_.beats_written;
    return;
  }
  if (outcome.kind == Outcome::Kind::exception)
    beat_refused_ = "writing the station's beat: " + outcome.words;
  take_failure(outcome, "writing the station's beat");
}

void ModbusPress::Link::write_orders() {
  for (;;) {
    std::optional<OrderQueue::Waiting> waiting;
    {
      const std::lock_guard lock(mutex_);
      if (orders_.empty() || !orders_.held()) return;
      waiting = orders_.next(evidence_is_fresh(), now_us(), options_.order_spacing_ms * ms);
    }
    if (!waiting) return;
    write_order(*std::move(waiting));
    if (!client_->connected()) return;
  }
}

void ModbusPress::Link::write_order(OrderQueue::Waiting waiting) {
  const std::uint16_t token = waiting.order.token;
  const std::int64_t start_us = now_us();
  if (start_us > waiting.not_after_us) {
    const std::lock_guard lock(mutex_);
    return orders_.drop(token, "too late", false);
  }
  const Outcome outcome = client_->write_many(profile_.order_window.start, waiting.registers);
  const bool untouched =
      outcome.kind == Outcome::Kind::not_connected ||
      (outcome.kind == Outcome::Kind::exception && surely_not_taken(outcome.exception_code));
  {
    const std::lock_guard lock(mutex_);
    if (!untouched) orders_.written(waiting, start_us);
    if (!outcome.ok()) orders_.drop(token, "writing the order: " + outcome.words, !untouched);
  }
  if (!outcome.ok()) take_failure(outcome, "writing an order");
}

void ModbusPress::Link::take_failure(const Outcome& outcome, const std::string& doing) {
  failure_words_ = doing + ": " + outcome.words;
  switch (outcome.kind) {
    case Outcome::Kind::ok:
      return;
    case Outcome::Kind::exception: {
      failures_in_a_row_ = 0;
      {
        const std::lock_guard lock(mutex_);
        ++statistics_.exceptions;
      }
      // It answers, so it is there; without a good answer so far that is all there is to say about it.
      if (link_ == ports::LinkState::never_connected || link_ == ports::LinkState::lost)
        announce(ports::LinkState::stale, failure_words_);
      return;
    }
    case Outcome::Kind::timeout:
    case Outcome::Kind::garbled: {
      const bool garbled = outcome.kind == Outcome::Kind::garbled;
      {
        const std::lock_guard lock(mutex_);
        ++(garbled ? statistics_.garbled : statistics_.timeouts);
      }
      judge_age();  // a request that timed out took its time from the evidence
      if (++failures_in_a_row_ >= options_.failures_before_reconnect) return lose(failure_words_);
      // After garbled bytes on TCP nobody knows where the next answer begins; a new connection begins at the
      // start.
      if (garbled && !client_->is_serial()) return restart_connection(failure_words_);
      return client_->discard_late_answers();
    }
    case Outcome::Kind::closed:
    case Outcome::Kind::not_connected:
      return lose(failure_words_);
  }
}

void ModbusPress::Link::restart_connection(const std::string& words) {
  client_->close();
  const Outcome outcome = client_->connect();
  if (!outcome.ok()) return lose(words + "; " + outcome.words);
  next_scan_us_ = now_us();
  next_token_try_us_ = 0;
  const std::lock_guard lock(mutex_);
  ++statistics_.reconnects;
  orders_.forget_held();
}

void ModbusPress::Link::lose(const std::string& words) {
  client_->close();
  scanner_.forget();
  gap_counts_ = false;
  failures_in_a_row_ = 0;
  beat_refused_.clear();
  {
    const std::lock_guard lock(mutex_);
    orders_.forget_held();
  }
  if (productive_) {  // it worked a moment ago: try at once, and only then wait longer and longer
    backoff_ms_ = 0;
    next_attempt_us_ = now_us();
  } else {
    schedule_attempt();
  }
  productive_ = false;
  announce(link_ == ports::LinkState::never_connected ? link_ : ports::LinkState::lost, words);
}

void ModbusPress::Link::judge_age() {
  const std::int64_t now = now_us();
  if (link_ == ports::LinkState::connected && now - last_good_us_ > options_.stale_ms * ms) {
    announce(ports::LinkState::stale,
             failure_words_.empty() ? "no answer for more than " + std::to_string(options_.stale_ms) + " ms"
                                    : failure_words_);
  } else if (link_ != ports::LinkState::connected &&
             now - last_published_us_ >= options_.lost_notice_ms * ms) {
    announce(link_, failure_words_.empty() ? "not connected yet" : failure_words_);
  }
}

void ModbusPress::Link::announce(ports::LinkState state, const std::string& words) {
  ports::PressScan scan = scanner_.scan();  // the last values, with the time they were true
  scan.link = state;
  scan.link_problem = words;
  scan.beat_moving = false;
  scan.new_samples.clear();
  scan.samples_missing = 0;
  scan.first_sample = 0;
  publish(std::move(scan));
}

void ModbusPress::Link::publish(ports::PressScan scan) {
  const bool was_connected = link_ == ports::LinkState::connected;
  const bool is_connected = scan.link == ports::LinkState::connected;
  if (was_connected && !is_connected) {
    ++link_losses_;
    spdlog::warn("press link {}: {}", scan.link == ports::LinkState::lost ? "lost" : "stale",
                 scan.link_problem);
  } else if (!was_connected && is_connected) {
    spdlog::info("press link connected");
  }
  link_ = scan.link;
  scan.number = ++scan_number_;
  scan.link_losses = link_losses_;
  last_published_us_ = now_us();
  {
    const std::lock_guard lock(mutex_);
    queue_.push(std::move(scan));
  }
  scan_there_.notify_all();
}

}  // namespace shankwright::modbus
