#include "station/evidence.hpp"

#include <algorithm>
#include <initializer_list>

namespace shankwright::station {
namespace {

using recipe::GaugeKind;

bool any_of(GaugeKind kind, std::initializer_list<GaugeKind> kinds) {
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

/// Which instruments can read which value. Common practice, no source.
struct RightKind {
  GaugeKind kind;
  bool operator()(const procedure::RopeDiameter&) const {
    return any_of(kind, {GaugeKind::caliper, GaugeKind::micrometer});
  }
  bool operator()(const procedure::ShankDiameter&) const {
    return any_of(kind, {GaugeKind::caliper, GaugeKind::micrometer});
  }
  bool operator()(const procedure::BoreDepth&) const {
    return any_of(kind, {GaugeKind::depth_rod, GaugeKind::caliper});
  }
  bool operator()(const procedure::DepthMark&) const { return along(); }
  bool operator()(const procedure::BoundaryMark&) const { return along(); }
  bool operator()(const procedure::Insertion&) const { return along(); }
  bool operator()(const procedure::Position&) const { return along(); }
  bool operator()(const procedure::Growth&) const { return along(); }
  bool operator()(const procedure::Slip&) const { return along(); }
  bool operator()(const procedure::Turn&) const { return kind == GaugeKind::protractor; }
  bool operator()(const procedure::Reseated&) const { return kind == GaugeKind::protractor; }
  bool operator()(const procedure::AcrossFlats&) const {
    return any_of(kind, {GaugeKind::micrometer, GaugeKind::caliper});
  }
  bool operator()(const procedure::Straightness&) const { return kind == GaugeKind::straight_edge; }
  bool operator()(const procedure::GoGauge&) const { return kind == GaugeKind::go_gap; }
  bool operator()(const procedure::NoGoGauge&) const { return kind == GaugeKind::no_go_gap; }
  bool operator()(const procedure::ProofLoad&) const { return kind == GaugeKind::load_cell; }
  template <typename Other>
  bool operator()(const Other&) const {
    return false;
  }

 private:
  [[nodiscard]] bool along() const {
    return any_of(kind, {GaugeKind::rule, GaugeKind::caliper, GaugeKind::tape, GaugeKind::depth_rod});
  }
};

bool due(const std::map<std::string, std::int64_t>& last_days, const std::string& id, std::int64_t today) {
  const auto found = last_days.find(id);
  return found != last_days.end() && today <= found->second;
}

}  // namespace

procedure::PressEvidence press_evidence(const ports::PressScan& scan, std::int64_t now_us,
                                        std::int64_t stale_ms) {
  const auto bit = [&scan](unsigned number) { return ((scan.status >> number) & 1U) != 0; };
  procedure::PressEvidence press;
  press.fresh = scan.link == ports::LinkState::connected && scan.beat_moving &&
                now_us - scan.at_monotonic_us <= stale_ms * 1000;
  press.phase = scan.phase <= static_cast<std::uint16_t>(procedure::Phase::faulted)
                    ? static_cast<procedure::Phase>(scan.phase)
                    : procedure::Phase::stopped;
  press.fault_code = scan.fault_code;
  press.die_tag = scan.die_tag;
  press.emergency_circuit_healthy = bit(0);
  press.guard_closed = bit(1);
  press.shank_present = bit(6);
  press.mark_seen = bit(7);
  press.remote_selected = bit(8);
  press.mark_sensor_fitted = bit(9);
  press.angle_encoder_fitted = bit(10);
  press.position_sensor_fitted = bit(11);
  press.angle_deg = scan.angle_deg;
  press.edge_distance_mm = scan.edge_distance_mm;
  return press;
}

procedure::Admit admission(const Asked& asked, const recipe::JoinedRecipe& joined, const library::Shop& shop,
                           const Quarantines& quarantines) {
  using ports::Item;
  procedure::Admit admit;
  admit.record_has_room = asked.record_has_room;
  if (asked.person) {
    admit.operator_signed_in = asked.person->operator_role;
    admit.operator_qualified = due(asked.person->qualified_until_day, joined.recipe.family, asked.today);
  }
  admit.recipe_released = joined.recipe.status == recipe::Status::released;
  if (const auto care = shop.die_pairs.find(joined.die_pair.id); care != shop.die_pairs.end()) {
    admit.die_pair_known = true;
    admit.die_pair_free = quarantines.free(Item::die_pair, joined.die_pair.id);
    admit.die_life_left =
        care->second.strokes_at_register + asked.strokes_since_register < joined.die_pair.life_strokes;
    admit.die_inspection_in_date = asked.today <= care->second.inspection_due_day;
  }
  admit.press_calibration_in_date =
      asked.press_calibrated_until_day && asked.today <= *asked.press_calibrated_until_day;
  // Each gauge a fitting cannot be finished without, and at least one that can measure; each reading is
  // judged again by itself.
  const bool measuring = std::any_of(
      joined.measuring_gauges.begin(), joined.measuring_gauges.end(),
      [&](const recipe::Gauge& gauge) { return due(shop.gauge_calibration_due_day, gauge.id, asked.today); });
  admit.gauges_in_date = measuring && due(shop.gauge_calibration_due_day, joined.go_gauge.id, asked.today) &&
                         due(shop.gauge_calibration_due_day, joined.no_go_gauge.id, asked.today);
  const auto gauge_free = [&](const recipe::Gauge& gauge) { return quarantines.free(Item::gauge, gauge.id); };
  admit.gauges_free = gauge_free(joined.go_gauge) && gauge_free(joined.no_go_gauge) &&
                      std::any_of(joined.measuring_gauges.begin(), joined.measuring_gauges.end(), gauge_free);
  if (const auto lot = shop.rope_lots.find(asked.rope_lot); lot != shop.rope_lots.end()) {
    admit.rope_lot_known = true;
    admit.rope_lot_free = quarantines.free(Item::rope_lot, lot->first);
    admit.rope_lot_matches = lot->second.of == joined.rope.id;
  }
  if (const auto lot = shop.terminal_lots.find(asked.terminal_lot); lot != shop.terminal_lots.end()) {
    admit.terminal_lot_known = true;
    admit.terminal_lot_free = quarantines.free(Item::terminal_lot, lot->first);
    admit.terminal_lot_matches = lot->second.of == joined.terminal.id;
  }
  return admit;
}

std::string gauge_meant(const procedure::Event& event, const std::string& gauge_id,
                        const recipe::JoinedRecipe& joined) {
  if (!gauge_id.empty()) return gauge_id;
  if (std::holds_alternative<procedure::GoGauge>(event)) return joined.go_gauge.id;
  if (std::holds_alternative<procedure::NoGoGauge>(event)) return joined.no_go_gauge.id;
  return "";
}

procedure::Tool tool_for(const procedure::Event& event, const std::string& gauge_id,
                         const recipe::JoinedRecipe& joined, const library::Shop& shop,
                         const Quarantines& quarantines, std::int64_t today) {
  const recipe::Gauge* gauge = nullptr;
  const bool go = std::holds_alternative<procedure::GoGauge>(event);
  const bool no_go = std::holds_alternative<procedure::NoGoGauge>(event);
  if (go && gauge_id == joined.go_gauge.id) gauge = &joined.go_gauge;
  if (no_go && gauge_id == joined.no_go_gauge.id) gauge = &joined.no_go_gauge;
  if (!go && !no_go)
    for (const recipe::Gauge& one : joined.measuring_gauges)
      if (one.id == gauge_id) gauge = &one;
  procedure::Tool tool;
  // Known, but not named by this recipe: not its kind.
  tool.known = gauge != nullptr || shop.gauge_calibration_due_day.contains(gauge_id);
  tool.in_date = due(shop.gauge_calibration_due_day, gauge_id, today);
  tool.free = quarantines.free(ports::Item::gauge, gauge_id);
  if (gauge == nullptr) return tool;
  tool.right_kind = std::visit(RightKind{gauge->kind}, event);
  tool.expanded_uncertainty_mm = gauge->expanded_uncertainty_mm;
  return tool;
}

}  // namespace shankwright::station
