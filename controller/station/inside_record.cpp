#include "station/inside.hpp"

#include <spdlog/spdlog.h>

#include <nlohmann/json.hpp>

#include "people/roles.hpp"
#include "station/state_json.hpp"
#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using procedure::Decision;
using procedure::Stage;

ports::NewEntry Station::Inside::entry_of(const View& view, const procedure::Event& event,
                                          const Decision& decision, const Taken& taken) {
  json body;
  body["event"] = json::parse(to_json(event));
  if (!decision.findings.empty()) body["findings"] = json::parse(to_json(decision.findings));
  if (std::holds_alternative<procedure::Admit>(event)) body["register"] = register_of(*view);
  if (!taken.gauge.empty()) {
    body["gauge"] = taken.gauge;
    if (const auto due = shop_.gauge_calibration_due_day.find(taken.gauge);
        due != shop_.gauge_calibration_due_day.end())
      body["gauge_calibration_due"] = people::day_text(due->second);
  }
  if (const auto* dispose = std::get_if<procedure::Dispose>(&event)) {
    body["signed"] = dispose->signed_with_pin;
    if (decision.entry == procedure::EntryKind::evidence) body["event"]["proposed"] = true;
  }
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

/// The set-up as the shop register had it on this day: what falls due is looked up again only at the next
/// admission, so a certificate must find it here.
json Station::Inside::register_of(const ports::FittingView& view) {
  json person{{"id", view.operator_id}};
  if (const auto found = people_.person(view.operator_id)) {
    person["name"] = found->name;
    const auto until = found->qualified_until_day.find(view.joined.recipe.family);
    if (until != found->qualified_until_day.end())
      person["qualified_until"] = people::day_text(until->second);
  }
  json dies{{"id", view.joined.die_pair.id}, {"life_strokes", view.joined.die_pair.life_strokes}};
  if (const auto care = shop_.die_pairs.find(view.joined.die_pair.id); care != shop_.die_pairs.end()) {
    dies["serial"] = care->second.serial;
    dies["strokes"] = care->second.strokes_at_register + strokes_of(view.joined.die_pair.id);
    dies["inspection_due"] = people::day_text(care->second.inspection_due_day);
  }
  json press{{"id", view.joined.press.id}};
  if (const auto until = press_calibrations_.until(view.joined.press.id); until && until.value().day) {
    press["calibration_due"] = people::day_text(*until.value().day);
    if (until.value().on_record) press["calibrated_by_entry"] = until.value().sequence;
  }
  const auto lot = [](const std::string& id, const std::map<std::string, library::Lot>& lots) {
    json out{{"id", id}};
    if (const auto found = lots.find(id); found != lots.end()) out["certificate"] = found->second.certificate;
    return out;
  };
  return {{"operator", person},
          {"die_pair", dies},
          {"press", press},
          {"rope_lot", lot(view.rope_lot, shop_.rope_lots)},
          {"terminal_lot", lot(view.terminal_lot, shop_.terminal_lots)}};
}

ports::FittingView Station::Inside::view_after(const View& view, const procedure::Event& event,
                                               const Decision& decision, const Taken& taken) const {
  ports::FittingView next = *view;
  const bool signing =
      std::holds_alternative<procedure::Dispose>(event) && decision.entry != procedure::EntryKind::refused;
  if (signing) next.proposed_by = taken.actor;
  if (!decision.state.proposed) next.proposed_by.clear();
  next.state = decision.state;
  next.last_findings = decision.findings;
  next.last_entry = decision.entry;
  return next;
}

/// Durable first, then seen: the view changes only after the entry is in the record.
Result<std::int64_t> Station::Inside::record(const View& view, const procedure::Event& event,
                                             const Decision& decision, const Taken& taken) {
  if (auto clear = nothing_pending(); !clear) return clear.problem();
  const bool released = decision.state.stage == Stage::released && view->state.stage != Stage::released;
  const ports::NewEntry entry = entry_of(view, event, decision, taken);
  auto written = released ? store_.append_and_seal({entry}, "release") : store_.append({entry});
  if (written) fittings_.put(view_after(view, event, decision, taken));
  return written;
}

Result<int> Station::Inside::nothing_pending() {
  flush_pending();
  if (pending_.empty()) return 0;
  return Problem{"record", "entries that could not be written yet",
                 "a record that can be written: free the disk, then go on"};
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
  if (taken.actor.empty()) taken.actor = actor_station;
  pending_.push_back({entry_of(newest, event, decision, taken), view_after(newest, event, decision, taken)});
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

ports::NewEntry Station::Inside::of_station(const std::string& event, const std::string& actor,
                                            const json& body) const {
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.kind = "station";
  entry.event = event;
  entry.actor = actor;
  entry.body_json = body.dump(-1, ' ', false, json::error_handler_t::replace);
  return entry;
}

void Station::Inside::station_entry(const std::string& event, const std::string& actor, const json& body) {
  if (auto written = store_.append({of_station(event, actor, body)}); !written)
    notice("The record cannot be written: " + written.problem().text());
}

Result<int> Station::Inside::recover() {
  const std::lock_guard lock(work_);
  if (auto read = read_quarantines(); !read) return read.problem();
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
                            .verdict = "",
                            .proposed_by = ""};
    if (view.state.proposed) view.proposed_by = proposer_of(row.serial);
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
  if (auto completed = complete_quarantines(); !completed) return completed.problem();
  // An accepted fitting still wants its release: show it.
  for (const std::string& serial : fittings_.in_stage(Stage::accepted)) fittings_.make_active(serial);
  const auto started = of_station("started", actor_station,
                                  {{"open_fittings", open.value().size()}, {"interrupted", interrupted}});
  if (auto written = store_.append_and_seal({started}, "start"); !written)
    notice("The record cannot be written: " + written.problem().text());
  publish();
  return interrupted;
}

}  // namespace shankwright::station
