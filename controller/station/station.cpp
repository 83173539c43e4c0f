#include "station/station.hpp"

#include <spdlog/spdlog.h>

#include <condition_variable>
#include <deque>
#include <mutex>
#include <nlohmann/json.hpp>

#include "station/bite_tracker.hpp"
#include "station/evidence.hpp"
#include "station/fittings.hpp"
#include "station/state_json.hpp"
#include "station/trace_reading.hpp"
#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using ports::Acceptance;
using ports::ActResult;
using ports::PressOrder;
using procedure::Code;
using procedure::Decision;
using procedure::Stage;

namespace {

constexpr std::int64_t day_us = 86'400'000'000;
constexpr std::int64_t order_within_us = 500'000;
constexpr std::size_t notices_kept = 20;
constexpr auto actor_station = "station";
constexpr std::uint16_t phase_open = 1;

/// Fills the parts of a person's event that only the station can know.
struct FillIn {
  procedure::Tool tool;
  procedure::PressEvidence press;
  std::uint16_t token = 0;
  bool another_open = true, operator_role = false, reviewer_role = false, reason_given = false;

  template <typename Event>
  void operator()(Event& event) const {
    if constexpr (requires { event.tool; }) event.tool = tool;
    if constexpr (requires { event.press; }) event.press = press;
    if constexpr (std::is_same_v<Event, procedure::RequestPermit>) event.token = token;
    if constexpr (std::is_same_v<Event, procedure::Resume>) event.another_open = another_open;
    if constexpr (std::is_same_v<Event, procedure::Release>) event.operator_signed_in = operator_role;
    if constexpr (std::is_same_v<Event, procedure::Dispose>) {
      event.reviewer = reviewer_role;
      event.reason_given = reason_given;
    }
  }
};

/// Events that only the press, the link or the station itself may report.
bool by_a_person(const procedure::Event& event) {
  return !(std::holds_alternative<procedure::Admit>(event) ||
           std::holds_alternative<procedure::PermitDurable>(event) ||
           std::holds_alternative<procedure::PermitRefused>(event) ||
           std::holds_alternative<procedure::PermitEnded>(event) ||
           std::holds_alternative<procedure::BiteStarted>(event) ||
           std::holds_alternative<procedure::BiteFinished>(event) ||
           std::holds_alternative<procedure::LinkLost>(event) ||
           std::holds_alternative<procedure::Restarted>(event) ||
           std::holds_alternative<procedure::UnaskedBite>(event));
}

}  // namespace

class Station::Inside {
 public:
  Inside(StationOptions options, const ports::Clock& clock, ports::Press& press, ports::RecordStore& store,
         const library::Library& library, const library::Shop& shop)
      : options_(std::move(options)),
        clock_(clock),
        press_(press),
        store_(store),
        library_(library),
        shop_(shop) {
    publish();
  }

  Result<int> recover();
  void tick();
  ActResult start_fitting(const ports::StartFitting& start);
  ActResult act(const ports::Act& act);
  ActResult press_order(PressOrder::Kind kind, const std::string& actor);

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
  ports::NewEntry entry_of(const View& view, const procedure::Event& event, const Decision& decision,
                           const Taken& taken) const;
  ports::FittingView view_after(const View& view, const Decision& decision) const;
  Result<std::int64_t> record(const View& view, const procedure::Event& event, const Decision& decision,
                              const Taken& taken);
  void record_or_keep(const View& view, const procedure::Event& event, Taken taken);
  void flush_pending();
  void station_entry(const std::string& event, const std::string& actor, const json& body);

  // the press
  void take_scans();
  void take_scan(ports::PressScan scan);
  void take_news(const BiteNews& news);
  void take_dropped();
  void note_link(const ports::PressScan& scan);
  procedure::BiteFinished bite_event(const BiteNews& news, const ports::FittingView& view) const;
  PressOrder permit_order(const ports::FittingView& view) const;
  ActResult give_permit(const View& view, const ports::Act& act, const Decision& decision);
  void send_withdraw();

  // help
  View known(const std::string& serial);
  View at_press() const { return fittings_.active(); }
  procedure::PressEvidence evidence() const {
    return press_evidence(scan_, clock_.monotonic_us(), options_.stale_ms);
  }
  std::int64_t today() const { return clock_.utc_us() / day_us; }
  std::uint64_t strokes_of(const std::string& die_pair_id);
  bool has_role(const std::string& person, bool library::Person::*role) const {
    const auto found = shop_.people.find(person);
    return found != shop_.people.end() && found->second.*role;
  }
  void notice(std::string text);
  void publish();

  const StationOptions options_;
  const ports::Clock& clock_;
  ports::Press& press_;
  ports::RecordStore& store_;
  const library::Library& library_;
  const library::Shop& shop_;

  std::mutex work_;  // everything below but what is published
  Fittings fittings_;
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

// ---------------------------------------------------------------- the record

ports::NewEntry Station::Inside::entry_of(const View& view, const procedure::Event& event,
                                          const Decision& decision, const Taken& taken) const {
  json body;
  body["event"] = json::parse(to_json(event));
  if (!decision.findings.empty()) body["findings"] = json::parse(to_json(decision.findings));
  if (!taken.gauge.empty()) body["gauge"] = taken.gauge;
  if (!taken.reason.empty()) body["reason"] = taken.reason;
  body["pass"] = view->state.pass;
  body["bite"] = view->state.bite + 1;
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.serial = view->serial;
  entry.kind = wording::name_of(decision.entry);
  entry.event = wording::event_name(event);
  entry.actor = taken.actor;
  entry.body_json = body.dump();
  entry.state_json = to_json(decision.state);
  entry.stage = wording::name_of(decision.state.stage);
  entry.trace = taken.trace;
  return entry;
}

ports::FittingView Station::Inside::view_after(const View& view, const Decision& decision) const {
  ports::FittingView next = *view;
  next.state = decision.state;
  next.last_findings = decision.findings;
  next.last_entry = decision.entry;
  return next;
}

/// Durable first, then seen: the view changes only after the entry is in the record.
Result<std::int64_t> Station::Inside::record(const View& view, const procedure::Event& event,
                                             const Decision& decision, const Taken& taken) {
  if (!pending_.empty()) {
    flush_pending();
    if (!pending_.empty())
      return Problem{"record", "entries that could not be written yet",
                     "a record that can be written: free the disk, then go on"};
  }
  auto written = store_.append({entry_of(view, event, decision, taken)});
  if (written) fittings_.put(view_after(view, decision));
  return written;
}

/// For what the press did: it happened, whether the disk likes it or not. Kept in order and tried again each
/// tick; nobody can go on with any fitting until it is written.
void Station::Inside::record_or_keep(const View& view, const procedure::Event& event, Taken taken) {
  // Decided on the newest state, written or not: the press does not wait for the disk.
  View newest = view;
  for (const Pending& waiting : pending_)
    if (waiting.view.serial == view->serial)
      newest = std::make_shared<const ports::FittingView>(waiting.view);
  const Decision decision = procedure::decide(newest->state, event, newest->joined);
  if (decision.entry == procedure::EntryKind::refused) return;
  taken.actor = actor_station;
  pending_.push_back({entry_of(newest, event, decision, taken), view_after(newest, decision)});
  flush_pending();
}

void Station::Inside::flush_pending() {
  while (!pending_.empty()) {
    auto written = store_.append({pending_.front().entry});
    if (!written) {
      notice("The record cannot be written: " + written.problem().text() + ". Nothing goes on until it can.");
      return;
    }
    fittings_.put(std::move(pending_.front().view));
    pending_.pop_front();
  }
}

void Station::Inside::station_entry(const std::string& event, const std::string& actor, const json& body) {
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.kind = "station";
  entry.event = event;
  entry.actor = actor;
  entry.body_json = body.dump();
  if (auto written = store_.append({entry}); !written)
    notice("The record cannot be written: " + written.problem().text());
}

Result<int> Station::Inside::recover() {
  const std::lock_guard lock(work_);
  auto open = store_.open_fittings();
  if (!open) return open.problem();
  int interrupted = 0;
  for (const ports::FittingRow& row : open.value()) {
    auto state = state_from_json(row.state_json);
    auto joined = library::from_json(row.joined_recipe_json);
    if (!state) return Problem{row.serial, state.problem().found, state.problem().expected};
    if (!joined) return Problem{row.serial, joined.problem().found, joined.problem().expected};
    ports::FittingView view{.serial = row.serial,
                            .recipe_id = row.recipe_id,
                            .job = row.job,
                            .operator_id = row.operator_id,
                            .rope_lot = row.rope_lot,
                            .terminal_lot = row.terminal_lot,
                            .started_utc_us = row.started_utc_us,
                            .state = state.value(),
                            .joined = joined.value(),
                            .planned_edge_mm = 0,
                            .accepted_edge_mm = {},
                            .last_findings = {},
                            .last_entry = procedure::EntryKind::evidence,
                            .verdict = ""};
    fittings_.put(view);
    const View shown = fittings_.find(row.serial);
    const Decision decision = procedure::decide(shown->state, procedure::Restarted{}, shown->joined);
    if (decision.entry == procedure::EntryKind::refused) continue;  // held, aside or accepted: as it was
    if (auto written = record(shown, procedure::Restarted{}, decision,
                              {.actor = actor_station, .gauge = "", .reason = "", .trace = {}});
        !written)
      return written.problem();
    ++interrupted;
    if (decision.state.stage == Stage::hold) {
      fittings_.make_active(row.serial);
      notice("Fitting " + row.serial +
             ": the station stopped while a permit was out or a bite ran. The bite is marked interrupted; "
             "the fitting is on hold.");
    } else {
      notice("Fitting " + row.serial +
             " was open when the station stopped. It is put aside; resume it and prove again where it lies.");
    }
  }
  // An accepted fitting still wants its release: show it.
  for (const std::string& serial : fittings_.in_stage(Stage::accepted)) fittings_.make_active(serial);
  station_entry("started", actor_station,
                {{"open_fittings", open.value().size()}, {"interrupted", interrupted}});
  publish();
  return interrupted;
}

// ---------------------------------------------------------------- the press

procedure::BiteFinished Station::Inside::bite_event(const BiteNews& news,
                                                    const ports::FittingView& view) const {
  const auto& joined = view.joined;
  const double area_mm2 = joined.press.ram_area_mm2;
  procedure::BiteFinished bite;
  bite.token = permit_token_;
  bite.fault_code = news.fault_code;
  bite.trace_present = !tracker_.samples().empty();
  bite.samples_missing = news.samples_missing;
  bite.peak_pressure_bar = news.peak_pressure_bar;
  bite.trace_peak_pressure_bar = peak_pressure_bar(tracker_.samples());
  bite.peak_force_kn = force_kn(news.peak_pressure_bar, area_mm2);
  bite.dwell_ms = news.dwell_ms;
  bite.least_gap_mm = news.least_gap_mm;
  const auto pass = static_cast<std::size_t>(view.state.pass);
  if (pass >= 1 && pass <= joined.recipe.envelope.size())
    bite.force_kn = force_at_gaps_kn(tracker_.samples(), joined.recipe.envelope[pass - 1], area_mm2);
  return bite;
}

void Station::Inside::take_news(const BiteNews& news) {
  const View view = at_press();
  if (news.kind == BiteNews::Kind::none) return;
  if (news.kind == BiteNews::Kind::unasked_bite) {
    const bool open = view && occupies_press(view->state.stage);
    if (open) record_or_keep(view, procedure::UnaskedBite{}, {});
    notice(open ? "The press closed without a permit; fitting " + view->serial + " is on hold."
                : "The press closed without a permit while no fitting was open.");
    return;
  }
  if (!view) return;
  Taken taken;
  switch (news.kind) {
    case BiteNews::Kind::started:
      record_or_keep(view, procedure::BiteStarted{}, {});
      break;
    case BiteNews::Kind::finished:
      taken.trace = tracker_.samples();
      ++strokes_[view->joined.die_pair.id];
      record_or_keep(view, bite_event(news, *view), std::move(taken));
      break;
    case BiteNews::Kind::refused:
      record_or_keep(view, procedure::PermitRefused{news.refusal}, {});
      break;
    case BiteNews::Kind::ended_without_bite:
      record_or_keep(view, procedure::PermitEnded{news.expired, true}, {});
      send_withdraw();  // should the order still be on its way
      break;
    case BiteNews::Kind::evidence_lost:
      taken.trace = tracker_.samples();
      record_or_keep(view, procedure::LinkLost{}, std::move(taken));
      send_withdraw();
      break;
    case BiteNews::Kind::none:
    case BiteNews::Kind::unasked_bite:
      break;
  }
}

void Station::Inside::note_link(const ports::PressScan& scan) {
  if (scan.link == noted_link_) return;
  noted_link_ = scan.link;
  const bool connected = scan.link == ports::LinkState::connected;
  station_entry(connected ? "link_connected" : "link_lost", actor_station, {{"problem", scan.link_problem}});
  spdlog::info("press link: {}", connected ? "connected" : scan.link_problem);
}

void Station::Inside::take_scan(ports::PressScan scan) {
  note_link(scan);
  take_news(tracker_.take(scan));
  scan.new_samples.clear();
  scan_ = std::move(scan);
}

void Station::Inside::take_scans() {
  for (ports::PressScan& scan : press_.take_scans()) take_scan(std::move(scan));
}

void Station::Inside::take_dropped() {
  for (const auto& dropped : press_.take_dropped()) {
    spdlog::warn("order {} did not go out: {}", dropped.token, dropped.why);
    const bool was_permit = tracker_.armed() && !tracker_.started() && dropped.token == permit_token_;
    if (!was_permit || dropped.may_have_arrived) continue;  // the scans will tell
    tracker_.disarm();
    if (const View view = at_press()) record_or_keep(view, procedure::PermitEnded{false, true}, {});
    notice("The permit did not reach the press: " + dropped.why);
  }
}

PressOrder Station::Inside::permit_order(const ports::FittingView& view) const {
  const auto& recipe = view.joined.recipe;
  const double area_mm2 = view.joined.press.ram_area_mm2;
  return {.kind = PressOrder::Kind::permit_one_bite,
          .token = view.state.token,
          .target_pressure_bar = pressure_bar(recipe.target_force_kn, area_mm2),
          .pressure_limit_bar = pressure_bar(recipe.force_limit_kn, area_mm2),
          .dwell_ms = recipe.dwell_ms,
          .closed_gap_mm = recipe.closed_gap_mm,
          .stroke_timeout_ms = recipe.stroke_timeout_ms,
          .permit_life_ms = recipe.permit_life_ms,
          .expected_die_tag = view.joined.die_pair.tag};
}

void Station::Inside::send_withdraw() {
  const std::uint16_t token = press_.next_token();
  if (token != 0)
    press_.send({.kind = PressOrder::Kind::withdraw_permit, .token = token},
                clock_.monotonic_us() + order_within_us);
}

// ---------------------------------------------------------------- what people do

View Station::Inside::known(const std::string& serial) {
  if (View view = fittings_.find(serial)) return view;
  auto row = store_.fitting(serial);
  if (!row) return nullptr;
  auto state = state_from_json(row.value().state_json);
  auto joined = library::from_json(row.value().joined_recipe_json);
  if (!state || !joined) return nullptr;
  ports::FittingView view;
  view.serial = row.value().serial;
  view.recipe_id = row.value().recipe_id;
  view.job = row.value().job;
  view.operator_id = row.value().operator_id;
  view.rope_lot = row.value().rope_lot;
  view.terminal_lot = row.value().terminal_lot;
  view.started_utc_us = row.value().started_utc_us;
  view.state = state.value();
  view.joined = joined.value();
  view.verdict = verdict_of(view.state);
  plan_coming_bite(view);
  return std::make_shared<const ports::FittingView>(std::move(view));
}

std::uint64_t Station::Inside::strokes_of(const std::string& die_pair_id) {
  if (const auto known_strokes = strokes_.find(die_pair_id); known_strokes != strokes_.end())
    return known_strokes->second;
  std::uint64_t strokes = 0;
  ports::FittingFilter filter;
  filter.die_pair_id = die_pair_id;
  filter.limit = 1000;
  for (;;) {
    auto page = store_.find(filter);
    if (!page || page.value().empty()) break;
    for (const auto& row : page.value())
      if (auto state = state_from_json(row.state_json))
        strokes += static_cast<std::uint64_t>(state.value().bites_done);
    filter.after_serial = page.value().back().serial;
  }
  return strokes_[die_pair_id] = strokes;
}

ActResult Station::Inside::start_fitting(const ports::StartFitting& start) {
  const std::lock_guard lock(work_);
  if (fittings_.press_occupied())
    return {Acceptance::refused, {{Code::another_fitting_open}}, at_press(), {}};
  auto joined = library::join(library_, start.recipe_id);
  if (!joined) return {Acceptance::refused, {{Code::recipe_has_faults}}, nullptr, {}};
  const Asked asked{start.operator_id, start.rope_lot, start.terminal_lot, today(),
                    strokes_of(joined.value().die_pair.id)};
  procedure::Admit admit = admission(asked, joined.value(), shop_);
  if (joined.value().press.id != options_.press_id)
    admit.press_calibration_in_date = false;  // another press's calibration
  const Decision decision = procedure::decide({}, admit, joined.value());

  ports::FittingView view;
  view.recipe_id = start.recipe_id;
  view.job = start.job;
  view.operator_id = start.operator_id;
  view.rope_lot = start.rope_lot;
  view.terminal_lot = start.terminal_lot;
  view.started_utc_us = clock_.utc_us();
  view.joined = joined.value();
  const Taken taken{start.operator_id, "", "", {}};
  if (decision.entry == procedure::EntryKind::refused) {
    json body{{"recipe", start.recipe_id},
              {"job", start.job},
              {"rope_lot", start.rope_lot},
              {"terminal_lot", start.terminal_lot},
              {"findings", json::parse(to_json(decision.findings))}};
    station_entry("admission_refused", start.operator_id, body);
    return {Acceptance::refused, decision.findings, nullptr, {}};
  }
  auto serial = store_.reserve_serial(view.started_utc_us);
  if (!serial) return {Acceptance::station_fault, {}, nullptr, serial.problem()};
  view.serial = serial.value();
  const auto before = std::make_shared<const ports::FittingView>(view);
  ports::FittingRow row{.serial = view.serial,
                        .recipe_id = view.recipe_id,
                        .job = view.job,
                        .operator_id = view.operator_id,
                        .rope_lot = view.rope_lot,
                        .terminal_lot = view.terminal_lot,
                        .die_pair_id = view.joined.die_pair.id,
                        .stage = std::string(wording::name_of(decision.state.stage)),
                        .verdict = "open",
                        .recipe_revision = view.joined.recipe.revision,
                        .started_utc_us = view.started_utc_us,
                        .changed_utc_us = view.started_utc_us,
                        .state_json = to_json(decision.state),
                        .joined_recipe_json = library::to_json(view.joined)};
  auto opened = store_.open_fitting(row, entry_of(before, admit, decision, taken));
  if (!opened) return {Acceptance::station_fault, {}, nullptr, opened.problem()};
  fittings_.put(view_after(before, decision));
  fittings_.make_active(view.serial);
  fittings_.drop_finished();
  publish();
  return {Acceptance::taken, {}, fittings_.find(view.serial), {}};
}

ActResult Station::Inside::act(const ports::Act& act) {
  const std::lock_guard lock(work_);
  take_scans();
  const View view = known(act.serial);
  if (!view) return {Acceptance::unknown_serial, {}, nullptr, {}};
  const bool operator_role = has_role(act.actor, &library::Person::operator_role);
  const bool reviewer_role = has_role(act.actor, &library::Person::reviewer_role);
  const bool disposing = std::holds_alternative<procedure::Dispose>(act.event);
  if (!by_a_person(act.event) || (!disposing && !operator_role))
    return {Acceptance::refused, {{Code::not_owner_of_step}}, view, {}};
  // The press's evidence belongs to the fitting that lies at the press.
  const View lying = at_press();
  const bool elsewhere = occupies_press(view->state.stage) && lying && lying->serial != view->serial;
  if (elsewhere) return {Acceptance::refused, {{Code::another_fitting_open}}, view, {}};

  procedure::Event event = act.event;
  const FillIn fill{tool_for(event, act.gauge_id, view->joined, shop_, today()),
                    evidence(),
                    press_.next_token(),
                    fittings_.press_occupied(),
                    operator_role,
                    reviewer_role,
                    !act.reason.empty()};
  std::visit(fill, event);
  const Decision decision = procedure::decide(view->state, event, view->joined);
  const Taken taken{act.actor, act.gauge_id, act.reason, {}};
  auto written = record(view, event, decision, taken);
  if (!written) return {Acceptance::station_fault, {}, view, written.problem()};

  if (decision.entry == procedure::EntryKind::refused) {
    publish();
    return {Acceptance::refused, decision.findings, fittings_.find(act.serial), {}};
  }
  if (std::holds_alternative<procedure::Resume>(event)) fittings_.make_active(act.serial);
  for (const procedure::Order order : decision.orders) {
    if (order == procedure::Order::record_permit)
      return give_permit(fittings_.find(act.serial), act, decision);
    if (order == procedure::Order::withdraw_permit) send_withdraw();
  }
  publish();
  return {Acceptance::taken, decision.findings, fittings_.find(act.serial), {}};
}

/// The permit is in the record. Whatever happened while the disk was busy is looked at again before the press
/// is told.
ActResult Station::Inside::give_permit(const View& view, const ports::Act& act, const Decision&) {
  take_scans();
  const procedure::PermitDurable durable{evidence()};
  const Decision decision = procedure::decide(view->state, durable, view->joined);
  const bool give = std::find(decision.orders.begin(), decision.orders.end(),
                              procedure::Order::give_permit) != decision.orders.end();
  if (give) {
    permit_token_ = view->state.token;
    const std::int64_t now_us = clock_.monotonic_us();
    tracker_.arm(permit_token_, scan_, now_us);
    press_.send(permit_order(*view), now_us + options_.permit_send_within_ms * 1000);
  }
  record_or_keep(view, durable, {});
  publish();
  return {give ? Acceptance::taken : Acceptance::refused, decision.findings, fittings_.find(act.serial), {}};
}

ActResult Station::Inside::press_order(PressOrder::Kind kind, const std::string& actor) {
  const std::lock_guard lock(work_);
  take_scans();
  const View view = at_press();
  std::vector<procedure::Finding> findings;
  if (!has_role(actor, &library::Person::operator_role) &&
      !has_role(actor, &library::Person::technician_role))
    findings.push_back({Code::not_owner_of_step});
  const std::uint16_t token = press_.next_token();
  if (token == 0 || scan_.link == ports::LinkState::lost || scan_.link == ports::LinkState::never_connected)
    findings.push_back({Code::press_evidence_stale});
  if (kind == PressOrder::Kind::permit_one_bite || kind == PressOrder::Kind::none)
    findings.push_back({Code::not_this_step});
  if (kind == PressOrder::Kind::zero_pressure && tracker_.armed()) findings.push_back({Code::bite_under_way});
  if (kind == PressOrder::Kind::zero_pressure && scan_.phase != phase_open)
    findings.push_back({Code::press_not_open, static_cast<double>(scan_.phase)});
  if (!findings.empty()) return {Acceptance::refused, findings, view, {}};
  const char* name = kind == PressOrder::Kind::open_dies       ? "open_dies"
                     : kind == PressOrder::Kind::clear_fault   ? "clear_fault"
                     : kind == PressOrder::Kind::zero_pressure ? "zero_pressure"
                                                               : "withdraw_permit";
  station_entry(name, actor,
                {{"token", token}, {"fault_code", scan_.fault_code}, {"fitting", view ? view->serial : ""}});
  press_.send({.kind = kind, .token = token}, clock_.monotonic_us() + order_within_us);
  return {Acceptance::taken, {}, view, {}};
}

// ---------------------------------------------------------------- the loop

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

// ---------------------------------------------------------------- the face

Station::Station(StationOptions options, const ports::Clock& clock, ports::Press& press,
                 ports::RecordStore& store, const library::Library& library, const library::Shop& shop)
    : inside_(std::make_unique<Inside>(std::move(options), clock, press, store, library, shop)) {}
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
