#include <algorithm>
#include <nlohmann/json.hpp>

#include "station/inside.hpp"
#include "wording/wording.hpp"

/// Care of what was made: quarantine, corrections, seals, room on the disk.
namespace shankwright::station {

using nlohmann::json;
using ports::Acceptance;
using ports::ActResult;
using ports::Item;
using ports::QuarantineResult;
using procedure::Code;
using procedure::Decision;
using procedure::Stage;

namespace {

constexpr std::size_t rows_a_page = 1000;

/// The gauge that an entry's reading was taken with. Entries of the first records leave out the recipe's own
/// limit gauges.
std::string gauge_of(const ports::NewEntry& entry, const recipe::JoinedRecipe& joined) {
  if (entry.kind == wording::name_of(procedure::EntryKind::refused)) return "";
  const json body = json::parse(entry.body_json, nullptr, false);
  if (body.is_object() && body.contains("gauge") && body["gauge"].is_string())
    return body["gauge"].get<std::string>();
  if (entry.event == "go_gauge") return joined.go_gauge.id;
  if (entry.event == "no_go_gauge") return joined.no_go_gauge.id;
  return "";
}

std::string named(Item item, const std::string& id) {
  std::string kind(wording::name_of(item));
  std::replace(kind.begin(), kind.end(), '_', ' ');
  return kind + " " + id;
}

std::vector<std::string> serials_of(const std::vector<View>& views) {
  std::vector<std::string> out;
  for (const View& view : views) out.push_back(view->serial);
  return out;
}

}  // namespace

bool Station::Inside::has_room(std::uint64_t least_bytes) const {
  const auto free = store_.free_bytes();
  return free && free.value() >= least_bytes;
}

std::string Station::Inside::proposer_of(const std::string& serial) const {
  const auto entries = store_.entries(serial, false);
  if (!entries) return "";
  std::string proposer;
  for (const auto& stored : entries.value())
    if (stored.entry.event == "dispose" &&
        stored.entry.kind == wording::name_of(procedure::EntryKind::evidence))
      proposer = stored.entry.actor;
  return proposer;
}

Result<bool> Station::Inside::uses(const ports::FittingView& view, Item item, const std::string& id) const {
  switch (item) {
    case Item::rope_lot:
      return view.rope_lot == id;
    case Item::terminal_lot:
      return view.terminal_lot == id;
    case Item::die_pair:
      return view.joined.die_pair.id == id;
    case Item::gauge:
      break;
  }
  const auto entries = store_.entries(view.serial, false);
  if (!entries) return entries.problem();
  return std::any_of(entries.value().begin(), entries.value().end(), [&](const ports::StoredEntry& stored) {
    return gauge_of(stored.entry, view.joined) == id;
  });
}

Result<std::vector<View>> Station::Inside::open_users(Item item, const std::string& id) const {
  std::vector<View> out;
  for (const View& view : fittings_.open()) {
    const auto used = uses(*view, item, id);
    if (!used) return used.problem();
    if (used.value()) out.push_back(view);
  }
  return out;
}

Result<std::vector<std::string>> Station::Inside::released_users(Item item, const std::string& id) const {
  ports::FittingFilter filter;
  if (item == Item::rope_lot) filter.rope_lot = id;
  if (item == Item::terminal_lot) filter.terminal_lot = id;
  if (item == Item::die_pair) filter.die_pair_id = id;
  if (item == Item::gauge) filter.gauge_id = id;
  filter.limit = rows_a_page;
  std::vector<std::string> out;
  for (;;) {
    const auto page = store_.find(filter);
    if (!page) return page.problem();
    if (page.value().empty()) return out;
    for (const auto& row : page.value())
      if (row.stage == wording::name_of(Stage::released)) out.push_back(row.serial);
    filter.after_serial = page.value().back().serial;
  }
}

bool Station::Inside::in_register(Item item, const std::string& id) const {
  switch (item) {
    case Item::rope_lot:
      return shop_.rope_lots.contains(id);
    case Item::terminal_lot:
      return shop_.terminal_lots.contains(id);
    case Item::die_pair:
      return shop_.die_pairs.contains(id);
    case Item::gauge:
      return shop_.gauge_calibration_due_day.contains(id);
  }
  return false;
}

std::vector<procedure::Finding> Station::Inside::against_quarantine(const ports::QuarantineAsked& asked,
                                                                    bool known_item, bool preview) const {
  std::vector<procedure::Finding> findings;
  const bool tool = asked.item == Item::die_pair || asked.item == Item::gauge;
  const bool may = has_role(asked.actor, &people::Person::reviewer_role) ||
                   (tool && has_role(asked.actor, &people::Person::technician_role));
  if (!may) findings.push_back({Code::not_owner_of_step});
  if (asked.reason.empty() && !preview) findings.push_back({Code::reason_needed});
  if (!known_item) findings.push_back({Code::item_unknown});
  if (quarantines_.in_record(asked.item, asked.id)) findings.push_back({Code::item_quarantined});
  return findings;
}

QuarantineResult Station::Inside::quarantine(const ports::QuarantineAsked& asked, bool preview) {
  QuarantineResult out;
  // Many rows, perhaps: looked up while the press goes on. What is released meanwhile is still among the
  // station's fittings and joins the list below.
  auto released = released_users(asked.item, asked.id);
  if (!released) {
    out.fault = released.problem();
    return out;
  }
  out.released = std::move(released).value();

  const std::lock_guard lock(work_);
  take_scans();
  if (auto clear = nothing_pending(); !clear && !preview) {
    out.fault = clear.problem();
    return out;
  }
  const auto users = open_users(asked.item, asked.id);
  if (!users) {
    out.fault = users.problem();
    return out;
  }
  if (const View view = at_press(); view && view->state.stage == Stage::released) {
    const auto used = uses(*view, asked.item, asked.id);
    const bool listed = std::binary_search(out.released.begin(), out.released.end(), view->serial);
    if (used && used.value() && !listed) out.released.push_back(view->serial);
  }
  out.held = serials_of(users.value());
  const bool known_item = in_register(asked.item, asked.id) || !out.held.empty() || !out.released.empty();
  out.findings = against_quarantine(asked, known_item, preview);
  out.acceptance = out.findings.empty() ? Acceptance::taken : Acceptance::refused;
  if (preview || out.acceptance == Acceptance::refused) return out;

  // One transaction: the item is quarantined and every fitting that uses it is held, or nothing happened.
  const ports::QuarantinedItem item{asked.item, asked.id, asked.reason, asked.actor, clock_.utc_us(), false};
  ports::NewEntry entry = of_station("quarantined", asked.actor, {});
  entry.body_json = quarantine_body(item, out.held, out.released.size());
  std::vector<ports::NewEntry> entries{entry};
  std::vector<ports::FittingView> after;
  bool withdraw = false;
  const Taken taken{asked.actor, "", asked.reason, {}};
  for (const View& view : users.value()) {
    const Decision decision = procedure::decide(view->state, procedure::Quarantined{}, view->joined);
    if (decision.entry == procedure::EntryKind::refused) continue;
    entries.push_back(entry_of(view, procedure::Quarantined{}, decision, taken));
    after.push_back(view_after(view, procedure::Quarantined{}, decision, taken));
    withdraw = withdraw || std::find(decision.orders.begin(), decision.orders.end(),
                                     procedure::Order::withdraw_permit) != decision.orders.end();
  }
  const auto written = store_.append(entries);
  if (!written) {
    out.acceptance = Acceptance::station_fault;
    out.fault = written.problem();
    return out;
  }
  const auto first = written.value() - static_cast<std::int64_t>(entries.size()) + 1;
  quarantines_.take({item, false, first});
  for (auto& view : after) fittings_.put(std::move(view));
  if (withdraw) send_withdraw();
  notice("Quarantined: " + named(asked.item, asked.id) + ". " + std::to_string(out.held.size()) +
         " open fittings are on hold, " + std::to_string(out.released.size()) + " released ones used it.");
  publish();
  return out;
}

QuarantineResult Station::Inside::lift_quarantine(const ports::QuarantineAsked& asked) {
  QuarantineResult out;
  const std::lock_guard lock(work_);
  if (auto clear = nothing_pending(); !clear) {
    out.fault = clear.problem();
    return out;
  }
  if (!has_role(asked.actor, &people::Person::reviewer_role))
    out.findings.push_back({Code::not_owner_of_step});
  if (asked.reason.empty()) out.findings.push_back({Code::reason_needed});
  if (!quarantines_.in_record(asked.item, asked.id))
    out.findings.push_back({quarantines_.in_shop_file(asked.item, asked.id) ? Code::quarantined_in_shop_file
                                                                            : Code::item_not_quarantined});
  const auto users = open_users(asked.item, asked.id);
  if (!users) {
    out.fault = users.problem();
    return out;
  }
  out.held = serials_of(users.value());
  out.acceptance = Acceptance::refused;
  if (!out.findings.empty()) return out;
  const ports::QuarantinedItem item{asked.item, asked.id, asked.reason, asked.actor, clock_.utc_us(), false};
  ports::NewEntry entry = of_station("quarantine_lifted", asked.actor, {});
  entry.body_json = quarantine_body(item, out.held, 0);
  const auto written = store_.append({entry});
  if (!written) {
    out.acceptance = Acceptance::station_fault;
    out.fault = written.problem();
    return out;
  }
  quarantines_.take({item, true, written.value()});
  out.acceptance = Acceptance::taken;
  if (quarantines_.in_shop_file(asked.item, asked.id))
    notice("The shop register still quarantines " + named(asked.item, asked.id) + ".");
  publish();
  return out;
}

Result<bool> Station::Inside::items_free(const ports::FittingView& view) const {
  for (const auto& item : quarantines_.all()) {
    const auto used = uses(view, item.item, item.id);
    if (!used) return used.problem();
    if (used.value()) return false;
  }
  return true;
}

Result<int> Station::Inside::read_quarantines() {
  const auto entries = store_.entries_of_kind("station", 0);
  if (!entries) return entries.problem();
  for (const auto& stored : entries.value()) {
    if (stored.entry.event != "quarantined" && stored.entry.event != "quarantine_lifted") continue;
    auto entry = quarantine_from(stored);
    if (!entry) return entry.problem();
    quarantines_.take(entry.value());
  }
  return 0;
}

/// Holds what uses a quarantined item and was not told: the shop register has changed, or a record was
/// written by something that died half way.
Result<int> Station::Inside::complete_quarantines() {
  int held = 0;
  for (const auto& item : quarantines_.all()) {
    const auto users = open_users(item.item, item.id);
    if (!users) return users.problem();
    const std::int64_t since = quarantines_.sequence_of(item.item, item.id);
    for (const View& view : users.value()) {
      const auto entries = store_.entries(view->serial, false);
      if (!entries) return entries.problem();
      const bool told = std::any_of(entries.value().begin(), entries.value().end(), [&](const auto& stored) {
        return stored.entry.event == "quarantined" && stored.sequence > since;
      });
      const bool held_already = view->state.stage == Stage::hold;
      if (told && held_already) continue;
      const Decision decision = procedure::decide(view->state, procedure::Quarantined{}, view->joined);
      if (decision.entry == procedure::EntryKind::refused) continue;
      const Taken taken{actor_station, "", named(item.item, item.id) + ": " + item.reason, {}};
      if (auto written = record(view, procedure::Quarantined{}, decision, taken); !written)
        return written.problem();
      notice("Fitting " + view->serial + " uses " + named(item.item, item.id) +
             ", which is quarantined. It is on hold.");
      ++held;
    }
  }
  return held;
}

ActResult Station::Inside::correct(const ports::Correction& correction) {
  const std::lock_guard lock(work_);
  const View view = known(correction.serial);
  if (!view) return {Acceptance::unknown_serial, {}, nullptr, {}};
  if (auto clear = nothing_pending(); !clear) return {Acceptance::station_fault, {}, view, clear.problem()};
  const auto entries = store_.entries(correction.serial, false);
  if (!entries) return {Acceptance::station_fault, {}, view, entries.problem()};
  const auto of = std::find_if(entries.value().begin(), entries.value().end(),
                               [&](const auto& stored) { return stored.sequence == correction.of_sequence; });
  std::vector<procedure::Finding> findings;
  if (of == entries.value().end())
    findings.push_back({Code::no_such_entry, static_cast<double>(correction.of_sequence)});
  else if (of->entry.actor != correction.actor && !has_role(correction.actor, &people::Person::reviewer_role))
    findings.push_back({Code::not_owner_of_step});
  if (correction.text.empty() || correction.reason.empty()) findings.push_back({Code::reason_needed});
  if (!findings.empty()) return {Acceptance::refused, findings, view, {}};
  ports::NewEntry entry =
      of_station("corrected", correction.actor,
                 {{"of", correction.of_sequence}, {"text", correction.text}, {"reason", correction.reason}});
  entry.serial = correction.serial;
  entry.kind = "correction";
  if (auto written = store_.append({entry}); !written)
    return {Acceptance::station_fault, {}, view, written.problem()};
  return {Acceptance::taken, {}, view, {}};
}

ActResult Station::Inside::end_shift(const std::string& actor) {
  const std::lock_guard lock(work_);
  if (auto clear = nothing_pending(); !clear)
    return {Acceptance::station_fault, {}, at_press(), clear.problem()};
  if (!people_.person(actor)) return {Acceptance::refused, {{Code::operator_not_signed_in}}, at_press(), {}};
  const auto entry = of_station("shift_ended", actor, json::object());
  if (auto written = store_.append_and_seal({entry}, "shift_end"); !written)
    return {Acceptance::station_fault, {}, at_press(), written.problem()};
  return {Acceptance::taken, {}, at_press(), {}};
}

ActResult Station::Inside::take_over_control(const ports::ControlTakenOver& taken) {
  const std::lock_guard lock(work_);
  const View view = at_press();
  if (auto clear = nothing_pending(); !clear) return {Acceptance::station_fault, {}, view, clear.problem()};
  std::vector<procedure::Finding> findings;
  if (!has_role(taken.actor, &people::Person::operator_role) &&
      !has_role(taken.actor, &people::Person::technician_role))
    findings.push_back({Code::not_owner_of_step});
  const bool permit_or_bite =
      view && (view->state.stage == Stage::permit_recorded || view->state.stage == Stage::permit_given ||
               view->state.stage == Stage::biting);
  if (permit_or_bite || tracker_.armed()) findings.push_back({Code::bite_under_way});
  if (!findings.empty()) return {Acceptance::refused, findings, view, {}};
  const auto entry = of_station("control_taken_over", taken.actor,
                                {{"from", taken.from},
                                 {"held_since_utc_us", taken.held_since_utc_us},
                                 {"fitting", view ? view->serial : ""}});
  if (auto written = store_.append({entry}); !written)
    return {Acceptance::station_fault, {}, view, written.problem()};
  return {Acceptance::taken, {}, view, {}};
}

void Station::Inside::stop() {
  const std::lock_guard lock(work_);
  take_scans();
  flush_pending();
  const auto entry = of_station("stopped", actor_station, {{"not_written", pending_.size()}});
  if (auto written = store_.append_and_seal({entry}, "stop"); !written)
    notice("The record cannot be written: " + written.problem().text());
}

}  // namespace shankwright::station
