#include "station/inside.hpp"

#include <spdlog/spdlog.h>

namespace shankwright::station {

using ports::ActResult;
using ports::PressOrder;
using procedure::Stage;

namespace {
constexpr std::size_t notices_kept = 20;
}

void Station::Inside::tick() {
  const std::lock_guard lock(work_);
  flush_pending();
  take_scans();
  take_dropped();
  publish();
}

void Station::Inside::notice(std::string text) {
  if (!notices_.empty() && notices_.back() == text) return;
  spdlog::warn("{}", text);
  notices_.push_back(std::move(text));
  while (notices_.size() > notices_kept) notices_.pop_front();
}

void Station::Inside::publish() {
  auto next = std::make_shared<ports::Snapshot>();
  const std::int64_t now_us = clock_.monotonic_us();
  next->at_utc_us = clock_.utc_us();
  next->press = scan_;
  next->press_fresh = evidence().fresh;
  next->press_age_ms = scan_.number == 0 ? 0 : (now_us - scan_.at_monotonic_us) / 1000;
  next->bite_samples = tracker_.samples();
  next->bite_samples_of = tracker_.samples_of();
  next->active = at_press();
  next->set_aside = fittings_.in_stage(Stage::aside);
  next->held = fittings_.in_stage(Stage::hold);
  next->notices.assign(notices_.begin(), notices_.end());
  {
    const std::lock_guard lock(published_mutex_);
    next->version = published_->version + 1;
    published_ = std::move(next);
  }
  published_changed_.notify_all();
}

Station::Station(StationOptions options, const ports::Clock& clock, ports::Press& press,
                 ports::RecordStore& store, const library::Library& library, const library::Shop& shop,
                 const people::People& people)
    : inside_(std::make_unique<Inside>(std::move(options), clock, press, store, library, shop, people)) {}
Station::~Station() = default;

Result<int> Station::recover() {
  return inside_->recover();
}
void Station::tick(int wait_ms) {
  inside_->press().wait_for_scan(wait_ms);
  inside_->tick();
}
ActResult Station::start_fitting(const ports::StartFitting& start) {
  return inside_->start_fitting(start);
}
ActResult Station::act(const ports::Act& act) {
  return inside_->act(act);
}
ActResult Station::press_order(PressOrder::Kind kind, const std::string& actor) {
  return inside_->press_order(kind, actor);
}
void Station::stop() {
  inside_->stop();
}
ports::QuarantineResult Station::quarantine(const ports::QuarantineAsked& asked) {
  return inside_->quarantine(asked, false);
}
ports::QuarantineResult Station::quarantine_preview(const ports::QuarantineAsked& asked) {
  return inside_->quarantine(asked, true);
}
ports::QuarantineResult Station::lift_quarantine(const ports::QuarantineAsked& asked) {
  return inside_->lift_quarantine(asked);
}
std::vector<ports::QuarantinedItem> Station::quarantined() const {
  return inside_->quarantined();
}
ActResult Station::correct(const ports::Correction& correction) {
  return inside_->correct(correction);
}
ActResult Station::end_shift(const std::string& actor) {
  return inside_->end_shift(actor);
}
ActResult Station::take_over_control(const ports::ControlTakenOver& taken) {
  return inside_->take_over_control(taken);
}
std::shared_ptr<const ports::Snapshot> Station::latest() const {
  return inside_->latest();
}
std::shared_ptr<const ports::Snapshot> Station::wait_newer(std::uint64_t version, int timeout_ms) const {
  return inside_->wait_newer(version, timeout_ms);
}
std::shared_ptr<const ports::FittingView> Station::fitting(const std::string& serial) const {
  return inside_->fitting(serial);
}

}  // namespace shankwright::station
