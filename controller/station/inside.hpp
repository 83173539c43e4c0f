#pragma once
#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <nlohmann/json_fwd.hpp>

#include "station/bite_tracker.hpp"
#include "station/evidence.hpp"
#include "station/fittings.hpp"
#include "station/quarantines.hpp"
#include "station/station.hpp"
#include "upkeep/press_calibrations.hpp"

/// Internal to this folder: the station's one class, its parts spread over inside_record.cpp (what is kept),
/// inside_press.cpp (what the press does), inside_people.cpp (what people do) and inside_care.cpp
/// (quarantine, corrections, seals).
namespace shankwright::station {

inline constexpr auto actor_station = "station";

class Station::Inside {
 public:
  Inside(StationOptions options, const ports::Clock& clock, ports::Press& press, ports::RecordStore& store,
         const library::Library& library, const library::Shop& shop, const people::People& people)
      : options_(std::move(options)),
        clock_(clock),
        press_(press),
        store_(store),
        library_(library),
        shop_(shop),
        people_(people),
        quarantines_(shop),
        press_calibrations_(store, shop) {
    publish();
  }

  Result<int> recover();
  void tick();
  ports::ActResult start_fitting(const ports::StartFitting& start);
  ports::ActResult act(const ports::Act& act);
  ports::ActResult press_order(ports::PressOrder::Kind kind, const std::string& actor);

  ports::QuarantineResult quarantine(const ports::QuarantineAsked& asked, bool preview);
  ports::QuarantineResult lift_quarantine(const ports::QuarantineAsked& asked);
  std::vector<ports::QuarantinedItem> quarantined() {
    const std::lock_guard lock(work_);
    return quarantines_.all();
  }
  ports::ActResult correct(const ports::Correction& correction);
  ports::ActResult end_shift(const std::string& actor);
  ports::ActResult take_over_control(const ports::ControlTakenOver& taken);
  void stop();

  ports::Press& press() { return press_; }
  std::shared_ptr<const ports::Snapshot> latest() const {
    const std::lock_guard lock(published_mutex_);
    return published_;
  }
  std::shared_ptr<const ports::Snapshot> wait_newer(std::uint64_t version, int timeout_ms) const {
    std::unique_lock lock(published_mutex_);
    published_changed_.wait_for(lock, std::chrono::milliseconds(timeout_ms),
                                [&] { return published_->version > version; });
    return published_;
  }
  View fitting(const std::string& serial) {
    const std::lock_guard lock(work_);
    return known(serial);
  }

 private:
  struct Taken {
    std::string actor, gauge, reason;
    std::vector<ports::Sample> trace;
  };
  struct Pending {
    ports::NewEntry entry;
    ports::FittingView view;
  };

  // the record
  ports::NewEntry entry_of(const View& view, const procedure::Event& event,
                           const procedure::Decision& decision, const Taken& taken);
  ports::FittingView view_after(const View& view, const procedure::Event& event,
                                const procedure::Decision& decision, const Taken& taken) const;
  Result<std::int64_t> record(const View& view, const procedure::Event& event,
                              const procedure::Decision& decision, const Taken& taken);
  void record_or_keep(const View& view, const procedure::Event& event, Taken taken);
  void flush_pending();
  /// Nothing that happened still waits for the disk; a Problem where it does.
  Result<int> nothing_pending();
  ports::NewEntry of_station(const std::string& event, const std::string& actor,
                             const nlohmann::json& body) const;
  void station_entry(const std::string& event, const std::string& actor, const nlohmann::json& body);
  nlohmann::json register_of(const ports::FittingView& view);
  std::string proposer_of(const std::string& serial) const;

  // care
  Result<bool> uses(const ports::FittingView& view, ports::Item item, const std::string& id) const;
  Result<std::vector<View>> open_users(ports::Item item, const std::string& id) const;
  Result<std::vector<std::string>> released_users(ports::Item item, const std::string& id) const;
  std::vector<procedure::Finding> against_quarantine(const ports::QuarantineAsked& asked, bool known_item,
                                                     bool preview) const;
  bool in_register(ports::Item item, const std::string& id) const;
  Result<bool> items_free(const ports::FittingView& view) const;
  Result<int> read_quarantines();
  Result<int> complete_quarantines();
  bool has_room(std::uint64_t least_bytes) const;

  // the press
  void take_scans();
  void take_scan(ports::PressScan scan);
  void take_news(const BiteNews& news);
  void take_dropped();
  void note_link(const ports::PressScan& scan);
  procedure::BiteFinished bite_event(const BiteNews& news, const ports::FittingView& view) const;
  ports::PressOrder permit_order(const ports::FittingView& view) const;
  ports::ActResult give_permit(const View& view, const ports::Act& act, const procedure::Decision& decision);
  void send_withdraw();

  // help
  View known(const std::string& serial);
  View at_press() const { return fittings_.active(); }
  procedure::PressEvidence evidence() const {
    return press_evidence(scan_, clock_.monotonic_us(), options_.stale_ms);
  }
  std::int64_t today() const { return clock_.utc_us() / 86'400'000'000; }
  std::uint64_t strokes_of(const std::string& die_pair_id);
  bool has_role(const std::string& person, bool people::Person::*role) const {
    const auto found = people_.person(person);
    return found && (*found).*role;
  }
  void notice(std::string text);
  void publish();

  const StationOptions options_;
  const ports::Clock& clock_;
  ports::Press& press_;
  ports::RecordStore& store_;
  const library::Library& library_;
  const library::Shop& shop_;
  const people::People& people_;

  std::mutex work_;  // everything below but what is published
  Fittings fittings_;
  Quarantines quarantines_;
  const upkeep::PressCalibrations press_calibrations_;
  BiteTracker tracker_;
  std::uint16_t permit_token_ = 0;
  ports::PressScan scan_;
  ports::LinkState noted_link_ = ports::LinkState::never_connected;
  std::deque<Pending> pending_;
  std::map<std::string, std::uint64_t> strokes_;
  std::deque<std::string> notices_;

  mutable std::mutex published_mutex_;
  mutable std::condition_variable published_changed_;
  std::shared_ptr<const ports::Snapshot> published_ = std::make_shared<const ports::Snapshot>();
};

}  // namespace shankwright::station
