#include "station/inside.hpp"

#include <spdlog/spdlog.h>

#include <nlohmann/json.hpp>

#include "station/state_json.hpp"
#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using procedure::Decision;
using procedure::Stage;

ports::NewEntry Station::Inside::entry_of(const View& view, const procedure::Event& event,
                                          const Decision& decision, const Taken& taken) const {
  json body;
  body["event"] = json::parse(to_json(event));
  if (!decision.findings.empty()) body["findings"] = json::parse(to_json(decision.findings));
  if (!taken.gauge.empty()) body["gauge"] = taken.gauge;
  if (!taken.reason.empty()) body["reason"] = taken.reason;
  if (std::holds_alternative<procedure::BiteFinished>(event) && !view->envelope.empty()) {
    json accepted = json::array();  // what it was judged by: scaled to the shank under the die
    for (const auto& point : view->envelope)
      accepted.push_back({{"gap_mm", point.gap_mm},
                          {"force_kn", {{"least", point.force_kn.least}, {"most", point.force_kn.most}}}});
    body["accepted_force"] = std::move(accepted);
  }
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
                            .envelope = {},
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

}  // namespace shankwright::station
