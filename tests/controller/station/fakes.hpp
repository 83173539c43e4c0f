#pragma once
#include <deque>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "library/library.hpp"
#include "ports/ports.hpp"

/// Doors to the outside that a test holds in its hand: time, press and record.
namespace shankwright::tests {

class HandClock final : public ports::Clock {
 public:
  std::int64_t now_us = 1'000'000'000;
  static constexpr std::int64_t start_utc_us = 1'795'000'000'000'000;  // a day in November 2026
  [[nodiscard]] std::int64_t utc_us() const override { return start_utc_us + now_us; }
  [[nodiscard]] std::int64_t monotonic_us() const override { return now_us; }
  void pass_ms(std::int64_t ms) { now_us += ms * 1000; }
};

/// A press that does exactly what the test says and remembers what it was sent.
class ScriptedPress final : public ports::Press {
 public:
  explicit ScriptedPress(HandClock& clock) : clock_(clock) {
    now.link = ports::LinkState::connected;
    now.beat_moving = true;
    now.map_version = 1;
    now.phase = 1;
    now.status = static_cast<std::uint16_t>((1U << 0U) | (1U << 1U) | (1U << 4U) | (1U << 6U) | (1U << 8U));
    now.die_tag = 101;
  }
  ports::PressScan now;  ///< what the next scan will show
  std::vector<ports::PressOrder> sent;
  std::function<void()> when_sent;  ///< called at every send

  /// Queues one scan of `now`, with these new samples.
  void scan(std::vector<ports::Sample> samples = {}, std::uint32_t missing = 0) {
    clock_.pass_ms(20);
    ports::PressScan one = now;
    one.number = ++number_;
    one.at_monotonic_us = clock_.now_us;
    one.sample_bite = static_cast<std::uint16_t>(bite_of_samples_);
    one.new_samples = std::move(samples);
    one.samples_missing = missing;
    queue_.push_back(std::move(one));
  }
  /// From now on samples belong to the coming bite.
  void begin_samples() { bite_of_samples_ = now.bite_number + 1; }
  /// Plays a whole bite under the permit last sent, with the force that `force_kn(gap_mm)` resists with.
  void play_bite(const std::function<double(double)>& force_kn, double ram_area_mm2, std::uint16_t fault = 0,
                 std::uint32_t missing = 0) {
    const ports::PressOrder permit = last_permit();
    begin_samples();
    now.permit_echo = permit.token;
    now.permit_state = 1;
    now.phase = 2;
    scan();
    now.phase = 3;
    std::vector<ports::Sample> samples;
    std::uint32_t time_ms = 0;
    double peak_bar = 0;
    for (double gap = 2.4; gap > 0.005; gap -= 0.02) {
      const double bar = force_kn(gap) * 1e4 / ram_area_mm2;
      samples.push_back({time_ms += 2, bar, gap});
      if (fault != 0 && gap < 1.2) break;
    }
    if (fault == 0)
      for (int i = 0; i < 150; ++i) samples.push_back({time_ms += 2, permit.target_pressure_bar, 0.004});
    for (const auto& sample : samples) peak_bar = std::max(peak_bar, sample.pressure_bar);
    now.peak_pressure_bar = peak_bar;
    now.least_gap_mm = samples.back().gap_mm;
    now.dwell_done_ms = fault == 0 ? permit.dwell_ms : 0;
    scan(std::move(samples), missing);
    now.phase = fault == 0 ? 1 : 6;
    now.fault_code = fault;
    now.permit_state = 3;
    now.bite_number = static_cast<std::uint16_t>(now.bite_number + 1);
    scan();
    scan();
  }
  [[nodiscard]] ports::PressOrder last_permit() const {
    for (auto order = sent.rbegin(); order != sent.rend(); ++order)
      if (order->kind == ports::PressOrder::Kind::permit_one_bite) return *order;
    return {};
  }
  [[nodiscard]] std::size_t permits_sent() const {
    std::size_t count = 0;
    for (const auto& order : sent) count += order.kind == ports::PressOrder::Kind::permit_one_bite ? 1 : 0;
    return count;
  }

  std::vector<ports::PressScan> take_scans() override {
    std::vector<ports::PressScan> taken(queue_.begin(), queue_.end());
    queue_.clear();
    return taken;
  }
  void wait_for_scan(int) override {}
  void send(const ports::PressOrder& order, std::int64_t) override {
    sent.push_back(order);
    if (when_sent) when_sent();
  }
  std::vector<Dropped> take_dropped() override { return std::exchange(dropped, {}); }
  std::uint16_t next_token() override { return ++token_; }
  std::vector<Dropped> dropped;

 private:
  HandClock& clock_;
  std::deque<ports::PressScan> queue_;
  std::uint64_t number_ = 0;
  std::uint16_t token_ = 0;
  int bite_of_samples_ = 0;
};

/// A record in memory, with the disk's moods: `broken` refuses every write, `on_append` runs before each.
class MemoryStore final : public ports::RecordStore {
 public:
  bool broken = false;
  std::function<void()> on_append;
  std::vector<ports::StoredEntry> kept;
  std::map<std::string, ports::FittingRow> rows;

  Result<std::int64_t> append(const std::vector<ports::NewEntry>& entries) override {
    if (on_append) on_append();
    if (broken) return Problem{"record", "no space left on the disk", "free space"};
    for (const auto& entry : entries) {
      kept.push_back({static_cast<std::int64_t>(kept.size() + 1), entry});
      if (auto row = rows.find(entry.serial); row != rows.end() && !entry.state_json.empty()) {
        row->second.state_json = entry.state_json;
        row->second.stage = entry.stage;
      }
    }
    return static_cast<std::int64_t>(kept.size());
  }
  Result<std::string> reserve_serial(std::int64_t) override { return "T-" + std::to_string(rows.size() + 1); }
  Result<std::int64_t> open_fitting(const ports::FittingRow& row, const ports::NewEntry& admit) override {
    if (broken) return Problem{"record", "no space left on the disk", "free space"};
    rows[row.serial] = row;
    return append({admit});
  }
  Result<std::vector<ports::FittingRow>> open_fittings() const override {
    std::vector<ports::FittingRow> open;
    for (const auto& [serial, row] : rows)
      if (row.stage != "released" && row.stage != "scrapped") open.push_back(row);
    return open;
  }
  Result<std::vector<ports::FittingRow>> find(const ports::FittingFilter& filter) const override {
    std::vector<ports::FittingRow> found;
    const auto asked = [](const std::string& wish, const std::string& is) {
      return wish.empty() || wish == is;
    };
    for (const auto& [serial, row] : rows)
      if (serial > filter.after_serial && found.size() < filter.limit &&
          asked(filter.die_pair_id, row.die_pair_id) && asked(filter.rope_lot, row.rope_lot) &&
          asked(filter.terminal_lot, row.terminal_lot) &&
          (filter.gauge_id.empty() || read_with(serial, filter.gauge_id)))
        found.push_back(row);
    return found;
  }
  Result<ports::FittingRow> fitting(const std::string& serial) const override {
    if (const auto row = rows.find(serial); row != rows.end()) return row->second;
    return Problem{"serial", serial, "a serial of this record"};
  }
  Result<std::vector<ports::StoredEntry>> entries(const std::string& serial, bool) const override {
    std::vector<ports::StoredEntry> found;
    for (const auto& one : kept)
      if (one.entry.serial == serial) found.push_back(one);
    return found;
  }
  Result<std::int64_t> append_and_seal(const std::vector<ports::NewEntry>& entries,
                                       const std::string& why) override {
    auto written = append(entries);
    if (written) seals.push_back({written.value(), 0, why, "", "", ""});
    return written;
  }
  Result<ports::Seal> seal_over(const std::string&) const override {
    if (seals.empty()) return Problem{"seal", "none", "a sealed record"};
    return seals.back();
  }
  Result<std::vector<ports::StoredEntry>> entries_of_kind(const std::string& kind,
                                                          std::int64_t after) const override {
    std::vector<ports::StoredEntry> found;
    for (const auto& one : kept)
      if (one.entry.kind == kind && one.entry.serial.empty() && one.sequence > after) found.push_back(one);
    return found;
  }
  Result<std::uint64_t> strokes_of(const std::string&) const override { return strokes; }
  Result<std::uint64_t> free_bytes() const override { return free; }

  [[nodiscard]] bool read_with(const std::string& serial, const std::string& gauge) const {
    for (const auto& one : kept)
      if (one.entry.serial == serial && one.entry.kind != "refused" &&
          one.entry.body_json.find("\"gauge\":\"" + gauge + "\"") != std::string::npos)
        return true;
    return false;
  }
  /// Events of one serial, or of the station itself, oldest first.
  [[nodiscard]] std::vector<std::string> events(const std::string& serial) const {
    std::vector<std::string> out;
    for (const auto& one : kept)
      if (one.entry.serial == serial) out.push_back(one.entry.event);
    return out;
  }

  std::vector<ports::Seal> seals;
  std::uint64_t strokes = 0, free = 1'000'000'000;
};

}  // namespace shankwright::tests
