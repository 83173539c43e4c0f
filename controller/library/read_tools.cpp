#include <cmath>

#include "library/kinds.hpp"
#include "library/names.hpp"

/// Die pair, gauge and press.
namespace shankwright::library {

Loaded<recipe::DiePair> read_die_pair(const Node& root, FaultList& faults) {
  Loaded<recipe::DiePair> out;
  recipe::DiePair& die = out.value;
  MapReader r(root, "", faults, out.places);
  die.id = r.id("id");
  die.tag = static_cast<std::uint16_t>(r.whole("tag", 1, 65535));  // press map: u16, 0 means no die
  die.shape = r.choice("shape", shape_names);
  die.across_flats_mm = r.quantity("across_flats", length_mm, {1, 80});
  die.length_mm = r.quantity("length", length_mm, {3, 600});
  die.rated_force_kn = r.quantity("rated_force", force_kn, {1, 20000});
  die.life_strokes = r.whole("life_strokes", 1, 100'000'000);
  die.source = r.text("source");
  r.finish();
  return out;
}

Loaded<recipe::Gauge> read_gauge(const Node& root, FaultList& faults) {
  using recipe::GaugeKind;
  Loaded<recipe::Gauge> out;
  recipe::Gauge& gauge = out.value;
  MapReader r(root, "", faults, out.places);
  gauge.id = r.id("id");
  gauge.kind = r.choice("kind", gauge_kind_names);
  if (!out.places.all({"kind"})) {
    // Which of these a gauge has follows from its kind: with the kind unread, nothing can be said of them.
    for (const char* key : {"size", "resolution", "expanded_uncertainty"}) r.may_have(key);
  } else if (gauge.kind == GaugeKind::go_gap || gauge.kind == GaugeKind::no_go_gap) {
    gauge.size_mm = r.quantity("size", length_mm, {1, 80});
  } else if (gauge.kind == GaugeKind::protractor) {
    gauge.resolution_mm = r.quantity("resolution", angle_deg, {0.001, 10});
    gauge.expanded_uncertainty_mm = r.quantity("expanded_uncertainty", angle_deg, {0.001, 10});
  } else if (gauge.kind == GaugeKind::load_cell) {
    gauge.resolution_mm = r.quantity("resolution", force_kn, {0.0001, 100});
    gauge.expanded_uncertainty_mm = r.quantity("expanded_uncertainty", force_kn, {0.0001, 500});
  } else if (gauge.kind != GaugeKind::loupe) {
    gauge.resolution_mm = r.quantity("resolution", length_mm, {0.0001, 5});
    gauge.expanded_uncertainty_mm = r.quantity("expanded_uncertainty", length_mm, {0.0001, 5});
  }
  gauge.source = r.text("source");
  r.finish();
  return out;
}

Loaded<recipe::Press> read_press(const Node& root, FaultList& faults) {
  Loaded<recipe::Press> out;
  recipe::Press& press = out.value;
  MapReader r(root, "", faults, out.places);
  press.id = r.id("id");
  press.ram_area_mm2 = r.quantity("ram_area", area_mm2, {100, 1e6});
  press.pressure_max_bar = r.quantity("pressure_max", pressure_bar, {10, 3000});
  press.capacity_kn = r.quantity("capacity", force_kn, {1, 50000});
  press.profile = r.id("profile");
  press.require_shank_sensor = r.yes_no("require_shank_sensor");
  press.source = r.text("source");
  if (out.places.all({"ram_area", "pressure_max", "capacity"})) {
    const double reachable_kn = press.pressure_max_bar * press.ram_area_mm2 / 1e4;  // 1 bar = 0.1 N/mm2
    if (press.capacity_kn > reachable_kn * 1.0005) {
      r.fault("capacity", "no more than ram area times greatest pressure, " +
                              plain(std::floor(reachable_kn * 10) / 10) + " kN");
    }
  }
  r.finish();
  return out;
}

}  // namespace shankwright::library
