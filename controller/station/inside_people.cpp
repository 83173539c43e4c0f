#include "station/inside.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "station/state_json.hpp"
#include "wording/wording.hpp"

namespace shankwright::station {

using nlohmann::json;
using ports::Acceptance;
using ports::ActResult;
using ports::PressOrder;
using procedure::Code;
using procedure::Decision;

namespace {

constexpr std::int64_t order_within_us = 500'000;
constexpr std::uint16_t phase_open = 1;  // press-map.md

/// Fills the parts of a person's event that only the station can know.
struct FillIn {
  procedure::Tool tool;
  procedure::PressEvidence press;
  std::uint16_t token = 0;
  bool another_open = true, operator_role = false, reviewer_role = false, reason_given = false;
  bool signed_with_pin = false, same_person_as_proposed = true, items_free = false, record_has_room = false;

  template <typename Event>
  void operator()(Event& event) const {
    if constexpr (requires { event.tool; }) event.tool = tool;
    if constexpr (requires { event.press; }) event.press = press;
    if constexpr (std::is_same_v<Event, procedure::RequestPermit>) {
      event.token = token;
      event.record_has_room = record_has_room;
    }
    if constexpr (std::is_same_v<Event, procedure::Resume>) event.another_open = another_open;
    if constexpr (std::is_same_v<Event, procedure::Release>) event.operator_signed_in = operator_role;
    if constexpr (std::is_same_v<Event, procedure::Dispose>) {
      event.reviewer = reviewer_role;
      event.reason_given = reason_given;
      event.signed_with_pin = signed_with_pin;
      event.same_person_as_proposed = same_person_as_proposed;
      event.items_free = items_free;
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
           std::holds_alternative<procedure::UnaskedBite>(event) ||
           std::holds_alternative<procedure::Quarantined>(event));
}

}  // namespace

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
  if (view.state.proposed) view.proposed_by = proposer_of(serial);
  plan_coming_bite(view);
  return std::make_shared<const ports::FittingView>(std::move(view));
}

std::uint64_t Station::Inside::strokes_of(const std::string& die_pair_id) {
  if (const auto known_strokes = strokes_.find(die_pair_id); known_strokes != strokes_.end())
    return known_strokes->second;
  const auto strokes = store_.strokes_of(die_pair_id);
  if (!strokes) return std::uint64_t{1} << 62;  // nobody knows: the pair counts as worn out
  return strokes_[die_pair_id] = strokes.value();
}

ActResult Station::Inside::start_fitting(const ports::StartFitting& start) {
  const std::lock_guard lock(work_);
  if (fittings_.press_occupied())
    return {Acceptance::refused, {{Code::another_fitting_open}}, at_press(), {}};
  auto joined = library::join(library_, start.recipe_id);
  if (!joined) return {Acceptance::refused, {{Code::recipe_has_faults}}, nullptr, {}};
  // The newest force calibration on record counts, whatever the register says; a record nobody can read
  // proves nothing.
  const auto calibrated = press_calibrations_.until(joined.value().press.id);
  const Asked asked{people_.person(start.operator_id),
                    start.rope_lot,
                    start.terminal_lot,
                    today(),
                    strokes_of(joined.value().die_pair.id),
                    has_room(options_.least_free_bytes),
                    calibrated ? calibrated.value().day : std::nullopt};
  procedure::Admit admit = admission(asked, joined.value(), shop_, quarantines_);
  admit.recipe_for_this_press = joined.value().press.id == options_.press_id;
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
  fittings_.put(view_after(before, admit, decision, taken));
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
  const bool operator_role = has_role(act.actor, &people::Person::operator_role);
  const bool reviewer_role = has_role(act.actor, &people::Person::reviewer_role);
  const bool disposing = std::holds_alternative<procedure::Dispose>(act.event);
  // Nobody should have to look for the right person to stop something.
  const bool stopping = std::holds_alternative<procedure::Withdraw>(act.event) ||
                        std::holds_alternative<procedure::HoldByOperator>(act.event);
  const bool allowed = disposing || operator_role || (stopping && people_.person(act.actor));
  if (!by_a_person(act.event) || !allowed)
    return {Acceptance::refused, {{Code::not_owner_of_step}}, view, {}};
  // The press's evidence belongs to the fitting that lies at the press.
  const View lying = at_press();
  const bool elsewhere = occupies_press(view->state.stage) && lying && lying->serial != view->serial;
  if (elsewhere) return {Acceptance::refused, {{Code::another_fitting_open}}, view, {}};

  procedure::Event event = act.event;
  const std::string gauge = gauge_meant(event, act.gauge_id, view->joined);
  auto free = disposing ? items_free(*view) : Result<bool>(false);
  if (!free) return {Acceptance::station_fault, {}, view, free.problem()};
  const FillIn fill{tool_for(event, gauge, view->joined, shop_, quarantines_, today()),
                    evidence(),
                    press_.next_token(),
                    fittings_.press_occupied(),
                    operator_role,
                    reviewer_role,
                    !act.reason.empty(),
                    act.signed_with_pin,
                    view->proposed_by.empty() || view->proposed_by == act.actor,
                    free.value(),
                    has_room(options_.least_free_bytes_for_permit)};
  std::visit(fill, event);
  const Decision decision = procedure::decide(view->state, event, view->joined);
  const Taken taken{act.actor, gauge, act.reason, {}};
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
  const bool opening = kind == PressOrder::Kind::open_dies || kind == PressOrder::Kind::withdraw_permit;
  const bool tends =
      has_role(actor, &people::Person::operator_role) || has_role(actor, &people::Person::technician_role);
  if (!tends && !(opening && people_.person(actor))) findings.push_back({Code::not_owner_of_step});
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

}  // namespace shankwright::station
