#include "fake_station.hpp"

#include <chrono>

#include "wording/wording.hpp"

namespace shankwright::hmi_test {

using procedure::Stage;

FakeStation::FakeStation() {
  publish(demo_snapshot());
}

void FakeStation::publish(ports::Snapshot snapshot) {
  const std::lock_guard lock(mutex_);
  snapshot.version = snapshot_ == nullptr ? 1 : snapshot_->version + 1;
  snapshot_ = std::make_shared<const ports::Snapshot>(std::move(snapshot));
  changed_.notify_all();
}

ports::ActResult FakeStation::start_fitting(const ports::StartFitting& start) {
  const std::lock_guard lock(mutex_);
  starts_.push_back(start);
  ports::ActResult result;
  result.acceptance = ports::Acceptance::taken;
  if (start.recipe_id == "withdrawn") {
    result.acceptance = ports::Acceptance::refused;
    result.findings = {{procedure::Code::recipe_not_released, 0, 0, 0}};
    return result;
  }
  result.fitting = std::make_shared<const ports::FittingView>(demo_fitting(Stage::measure));
  return result;
}

ports::ActResult FakeStation::act(const ports::Act& act) {
  const std::lock_guard lock(mutex_);
  acts_.push_back(act);
  ports::ActResult result;
  result.acceptance = ports::Acceptance::taken;
  if (act.serial == "REFUSES") {
    result.acceptance = ports::Acceptance::refused;
    result.findings = every_finding();
    result.fitting = std::make_shared<const ports::FittingView>(demo_fitting(Stage::position));
  } else if (act.serial == "FAULTY") {
    result.acceptance = ports::Acceptance::station_fault;
    result.fault = {"record", "no space left on the device", "a record that can be written"};
  } else if (act.serial.starts_with("AT-")) {
    result.fitting = std::make_shared<const ports::FittingView>(demo_fitting(Stage::gauge));
    result.findings = {{procedure::Code::bent, 0.4, 0, 0.2}};
  } else {
    result.acceptance = ports::Acceptance::unknown_serial;
  }
  return result;
}

ports::ActResult FakeStation::press_order(ports::PressOrder::Kind kind, const std::string& actor) {
  const std::lock_guard lock(mutex_);
  orders_.emplace_back(kind, actor);
  ports::ActResult result;
  result.acceptance = order_answer;
  if (order_answer == ports::Acceptance::refused)
    result.findings = {{procedure::Code::press_not_open, 0, 0, 0}};
  if (order_answer == ports::Acceptance::station_fault)
    result.fault = {"press", "no link", "a press that answers"};
  return result;
}

ports::QuarantineResult FakeStation::keep(const std::string& how, const ports::QuarantineAsked& asked) {
  const std::lock_guard lock(mutex_);
  quarantines_.emplace_back(how, asked);
  ports::QuarantineResult result;
  if (asked.id == "FAULTY") {
    result.fault = {"record", "no space left on the device", "a record that can be written"};
    return result;
  }
  result.acceptance = asked.id == "none" ? ports::Acceptance::refused : ports::Acceptance::taken;
  if (asked.id == "none") result.findings = {{procedure::Code::item_unknown, 0, 0, 0}};
  if (asked.id != "none") result.held = {"S-0004", "S-0005"};
  if (asked.id != "none" && how != "lift") result.released = {"S-0001", "S-0002", "S-0003"};
  return result;
}
ports::QuarantineResult FakeStation::quarantine(const ports::QuarantineAsked& asked) {
  return keep("put", asked);
}
ports::QuarantineResult FakeStation::quarantine_preview(const ports::QuarantineAsked& asked) {
  return keep("preview", asked);
}
ports::QuarantineResult FakeStation::lift_quarantine(const ports::QuarantineAsked& asked) {
  return keep("lift", asked);
}
std::vector<ports::QuarantinedItem> FakeStation::quarantined() const {
  return {{ports::Item::gauge, "caliper-9", "fell on the floor", "rev", 1'935'400'000'123'456, false},
          {ports::Item::rope_lot, "RL-9", "in the shop register", "", 0, true}};
}
ports::ActResult FakeStation::correct(const ports::Correction& correction) {
  const std::lock_guard lock(mutex_);
  corrections_.push_back(correction);
  ports::ActResult result;
  result.acceptance = ports::Acceptance::taken;
  if (!correction.serial.starts_with("AT-")) result.acceptance = ports::Acceptance::unknown_serial;
  if (correction.serial == "FAULTY") {
    result.acceptance = ports::Acceptance::station_fault;
    result.fault = {"record", "no space left on the device", "a record that can be written"};
  }
  if (correction.of_sequence == 404 || correction.serial == "REFUSES") {
    result.acceptance = ports::Acceptance::refused;
    result.findings = {{procedure::Code::no_such_entry, 404, 0, 0}};
  }
  return result;
}
ports::ActResult FakeStation::end_shift(const std::string& actor) {
  const std::lock_guard lock(mutex_);
  shifts_ended_.push_back(actor);
  ports::ActResult result;
  result.acceptance = ports::Acceptance::taken;
  return result;
}

ports::ActResult FakeStation::take_over_control(const ports::ControlTakenOver& taken) {
  const std::lock_guard lock(mutex_);
  ports::ActResult result;
  result.acceptance = take_over_answer;
  if (take_over_answer == ports::Acceptance::refused)
    result.findings = {{procedure::Code::bite_under_way, 0, 0, 0}};
  if (take_over_answer == ports::Acceptance::station_fault)
    result.fault = {"record", "no space left on the device", "a record that can be written"};
  if (take_over_answer == ports::Acceptance::taken) taken_over_.push_back(taken);
  return result;
}

std::shared_ptr<const ports::Snapshot> FakeStation::latest() const {
  const std::lock_guard lock(mutex_);
  return snapshot_;
}

std::shared_ptr<const ports::Snapshot> FakeStation::wait_newer(std::uint64_t version, int timeout_ms) const {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, std::chrono::milliseconds(timeout_ms),
                    [&] { return snapshot_->version > version; });
  return snapshot_;
}

std::shared_ptr<const ports::FittingView> FakeStation::fitting(const std::string& serial) const {
  for (int i = 1; i <= static_cast<int>(Stage::aside); ++i) {
    auto view = demo_fitting(static_cast<Stage>(i));
    if (view.serial == serial) return std::make_shared<const ports::FittingView>(std::move(view));
  }
  return nullptr;
}

std::vector<ports::StartFitting> FakeStation::starts() const {
  const std::lock_guard lock(mutex_);
  return starts_;
}
std::vector<ports::Act> FakeStation::acts() const {
  const std::lock_guard lock(mutex_);
  return acts_;
}
std::vector<std::pair<ports::PressOrder::Kind, std::string>> FakeStation::orders() const {
  const std::lock_guard lock(mutex_);
  return orders_;
}
std::vector<std::pair<std::string, ports::QuarantineAsked>> FakeStation::quarantines() const {
  const std::lock_guard lock(mutex_);
  return quarantines_;
}
std::vector<ports::Correction> FakeStation::corrections() const {
  const std::lock_guard lock(mutex_);
  return corrections_;
}
std::vector<std::string> FakeStation::shifts_ended() const {
  const std::lock_guard lock(mutex_);
  return shifts_ended_;
}
std::vector<ports::ControlTakenOver> FakeStation::taken_over() const {
  const std::lock_guard lock(mutex_);
  return taken_over_;
}
std::size_t FakeStation::calls() const {
  const std::lock_guard lock(mutex_);
  return starts_.size() + acts_.size() + orders_.size() + quarantines_.size() + corrections_.size() +
         shifts_ended_.size();
}

ports::FittingFilter FakeRecord::last_filter() const {
  const std::lock_guard lock(mutex_);
  return last_;
}

Result<std::vector<ports::FittingRow>> FakeRecord::find(const ports::FittingFilter& filter) const {
  const std::lock_guard lock(mutex_);
  last_ = filter;
  if (broken) return Problem{"record", "a damaged file", "a record that can be read"};
  if (!filter.after_serial.empty() && !filter.after_serial.starts_with("S-"))
    return Problem{"after", filter.after_serial, "a whole serial"};
  std::vector<ports::FittingRow> out;
  for (std::size_t i = 1; i <= rows && out.size() < filter.limit; ++i) {
    ports::FittingRow row;
    row.serial = "S-" + std::string(i < 10 ? "000" : "00") + std::to_string(i);
    if (row.serial <= filter.after_serial) continue;
    row.recipe_id = "demo-recipe";
    row.recipe_revision = 3;
    row.job = "demo job";
    row.operator_id = "op-1";
    row.rope_lot = "rope-lot-1";
    row.terminal_lot = "terminal-lot-1";
    row.die_pair_id = "demo-die";
    row.stage = "released";
    constexpr std::array verdicts = {"open", "accepted", "re-pressed", "scrapped", "held"};
    row.verdict = verdicts.at(i % verdicts.size());
    row.started_utc_us = 1'935'400'000'123'456;
    row.changed_utc_us = 1'935'400'600'999'999;
    out.push_back(row);
  }
  return out;
}

namespace {
const Problem not_used{"record", "a call the HTTP server has no business making", "none"};
}
Result<std::int64_t> FakeRecord::append(const std::vector<ports::NewEntry>&) {
  return not_used;
}
Result<std::string> FakeRecord::reserve_serial(std::int64_t) {
  return not_used;
}
Result<std::int64_t> FakeRecord::open_fitting(const ports::FittingRow&, const ports::NewEntry&) {
  return not_used;
}
Result<std::vector<ports::FittingRow>> FakeRecord::open_fittings() const {
  return not_used;
}

Result<ports::FittingRow> FakeRecord::fitting(const std::string& serial) const {
  ports::FittingFilter all;
  const auto found = find(all);
  if (!found) return found.problem();
  for (auto row : found.value()) {
    if (row.serial != serial) continue;
    row.joined_recipe_json = library::to_json(demo_recipe());
    row.state_json = R"({"stage":"released"})";
    return row;
  }
  return Problem{"serial", serial, "a serial on record"};
}

Result<std::int64_t> FakeRecord::append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                 const std::string&) {
  return append(entries);
}
Result<ports::Seal> FakeRecord::seal_over(const std::string& serial) const {
  if (serial != "S-0001") return Problem{"seal", "none", "a sealed record"};
  return ports::Seal{
      5, 1'935'400'000'123'456, "release", std::string(64, 'a'), std::string(64, 'b'), std::string(128, 'c')};
}
Result<std::vector<ports::StoredEntry>> FakeRecord::entries_of_kind(const std::string&, std::int64_t) const {
  return std::vector<ports::StoredEntry>{};
}
Result<std::uint64_t> FakeRecord::strokes_of(const std::string&) const {
  return std::uint64_t{0};
}
Result<std::uint64_t> FakeRecord::free_bytes() const {
  return std::uint64_t{1'000'000'000};
}
Result<std::vector<ports::StoredEntry>> FakeRecord::entries(const std::string& serial, bool) const {
  ports::NewEntry measured;
  measured.at_utc_us = 1'935'400'000'123'456;
  measured.serial = serial;
  measured.kind = "evidence";
  measured.event = "rope_diameter";
  measured.actor = "op-1";
  measured.body_json = R"({"gauge":"caliper-1"})";
  measured.stage = "measure";
  ports::NewEntry bite = measured;
  bite.kind = "bite";
  bite.event = "bite_finished";
  bite.actor = "station";
  bite.body_json = "{}";
  for (std::uint32_t i = 0; i < 20; ++i) bite.trace.push_back({2 * i, 10.0 * i, 5.0 - 0.2 * i});
  return std::vector<ports::StoredEntry>{{1, measured}, {2, bite}};
}

}  // namespace shankwright::hmi_test
