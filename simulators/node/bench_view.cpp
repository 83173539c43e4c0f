#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "quantity/quantity.hpp"
#include "simulators/node/bench_body.hpp"
#include "simulators/node/bench_desk.hpp"
#include "simulators/node/names.hpp"

// What can be seen at the bench: the state, what there is to choose from, and instruments' readings.
namespace shankwright::node {
namespace {

using nlohmann::json;

std::string_view rope_name(bench::RopeChoice choice, recipe::Construction as_recipe) {
  switch (choice) {
    case bench::RopeChoice::none:
      return "none";
    case bench::RopeChoice::strand_1x19:
      return "1x19";
    case bench::RopeChoice::rope_7x7:
      return "7x7";
    case bench::RopeChoice::rope_7x19:
      return "7x19";
    case bench::RopeChoice::as_recipe:
      break;
  }
  switch (as_recipe) {
    case recipe::Construction::strand_1x19:
      return "1x19";
    case recipe::Construction::rope_7x7:
      return "7x7";
    case recipe::Construction::rope_7x19:
      break;
  }
  return "7x19";
}

std::string_view surface_name(plant::SurfaceTruth surface) {
  switch (surface) {
    case plant::SurfaceTruth::cracked:
      return "cracked";
    case plant::SurfaceTruth::lapped:
      return "lapped";
    case plant::SurfaceTruth::wires_broken:
      return "wires_broken";
    case plant::SurfaceTruth::sound:
      break;
  }
  return "sound";
}

template <typename Value>
json or_null(const std::optional<Value>& value) {
  return value ? json(*value) : json(nullptr);
}

json part_json(const bench::Bench& bench) {
  if (!bench.has_part()) return nullptr;
  const plant::Part& part = bench.part();
  const plant::PartTruth& truth = part.truth();
  return {{"recipe", bench.joined().recipe.id},
          {"rope", rope_name(bench.rope_choice(), bench.joined().rope.construction)},
          {"shank_diameter_mm", truth.shank_od_mm},
          {"bore_diameter_mm", truth.bore_mm},
          {"bore_depth_mm", truth.bore_depth_mm},
          {"rope_diameter_mm", part.rope().diameter_mm},
          {"rope_in", part.rope_in()},
          {"depth_mark_mm", or_null(part.depth_mark_mm())},
          {"depth_mark_to_mouth_mm", or_null(part.depth_mark_to_mouth_mm())},
          {"boundary_mark_mm", or_null(part.boundary_mark_mm())},
          {"boundary_to_mouth_mm", or_null(part.boundary_to_mouth_mm())},
          {"mouth_mm", part.mouth_mm()},
          {"slip_mm", part.slip_mm()},
          {"straightness_mm", part.straightness_mm()},
          {"surface", surface_name(part.surface())},
          {"bites", part.bites()}};
}

std::string_view kind_name(recipe::GaugeKind kind) {
  switch (kind) {
    case recipe::GaugeKind::caliper:
      return "caliper";
    case recipe::GaugeKind::micrometer:
      return "micrometer";
    case recipe::GaugeKind::depth_rod:
      return "depth_rod";
    case recipe::GaugeKind::rule:
      return "rule";
    case recipe::GaugeKind::protractor:
      return "protractor";
    case recipe::GaugeKind::go_gap:
      return "go_gap";
    case recipe::GaugeKind::no_go_gap:
      return "no_go_gap";
    case recipe::GaugeKind::straight_edge:
      return "straight_edge";
    case recipe::GaugeKind::tape:
      return "tape";
    case recipe::GaugeKind::load_cell:
      return "load_cell";
    case recipe::GaugeKind::loupe:
      break;
  }
  return "loupe";
}

/// As many decimals as the instrument shows.
int decimals_of(const recipe::Gauge* gauge) {
  if (gauge == nullptr || !(gauge->resolution_mm > 0)) return 2;
  return std::clamp(static_cast<int>(std::ceil(-std::log10(gauge->resolution_mm) - 1e-9)), 0, 4);
}

}  // namespace

DeskReply BenchDesk::state() const {
  const PressView press = node_.view();
  json faults = json::object();
  for (const FaultWindow& window : press.faults) {
    const FaultDescription& description = description_of(window.kind);
    faults[std::string(description.name)] = description.has_value ? json(window.value) : json(true);
  }
  const json out{{"simulation", true},
                 {"part", node_.with_bench([](const bench::Bench& bench, bool) { return part_json(bench); })},
                 {"die_tag", press.die_tag},
                 {"hands", press.contacts.both_hands_on},
                 {"guard", press.contacts.guard_closed},
                 {"emergency_healthy", press.contacts.emergency_circuit_healthy},
                 {"remote", press.contacts.remote_selected},
                 {"phase", name_of(press.phase)},
                 {"fault", name_of(press.fault)},
                 {"permit_state", name_of(press.permit_state)},
                 {"bite_number", press.bite_number},
                 {"bite_runs", press.bite_runs},
                 {"dies_home", press.dies_home},
                 {"shank_present", press.shank_present},
                 {"edge_mm", press.edge_mm},
                 {"angle_deg", press.angle_deg},
                 {"pressure_bar", press.pressure_bar},
                 {"gap_mm", press.gap_mm},
                 {"force_kn", press.force_kn},
                 {"oil_temperature_c", press.oil_temperature_c},
                 {"press_time_ms", press.press_time_ms},
                 {"faults", faults}};
  return {200, out.dump()};
}

DeskReply BenchDesk::library() const {
  json recipes = json::array(), die_pairs = json::array(), gauges = json::array(), faults = json::array();
  for (const auto& [id, recipe] : library_.recipes)
    recipes.push_back({{"id", id}, {"die_pair", recipe.die_pair}});
  for (const auto& [id, pair] : library_.die_pairs) die_pairs.push_back({{"id", id}, {"tag", pair.tag}});
  for (const auto& [id, gauge] : library_.gauges)
    gauges.push_back({{"id", id}, {"kind", kind_name(gauge.kind)}});
  for (const auto& fault : fault_descriptions()) {
    faults.push_back(
        {{"name", fault.name}, {"has_value", fault.has_value}, {"least", fault.least}, {"most", fault.most}});
  }
  const json out{{"recipes", recipes}, {"die_pairs", die_pairs}, {"gauges", gauges}, {"faults", faults}};
  return {200, out.dump()};
}

/// The evidence body that the station takes, with the instrument's own number of decimals.
json BenchDesk::measure(const json& body) const {
  const BenchBody asked(body, {"kind", "gauge", "readings"});
  const std::string kind = asked.text("kind", "a kind of evidence, for example rope_diameter");
  std::string id = asked.has("gauge") ? asked.text("gauge", "the id of a gauge") : std::string();
  const int readings_asked = asked.has("readings") ? asked.whole("readings", 1, 100) : 0;

  const auto read = node_.with_bench([&](bench::Bench& bench, bool bite_runs) {
    if (bite_runs) throw Refused{409, {"/", "dies in motion", "the dies home before anything is measured"}};
    int readings = readings_asked;
    if (bench.has_part()) {
      const recipe::Recipe& recipe = bench.joined().recipe;
      if (id.empty() && kind == "go_gauge") id = recipe.go_gauge;
      if (id.empty() && kind == "no_go_gauge") id = recipe.no_go_gauge;
      if (readings == 0 && kind == "rope_diameter") readings = recipe.rope_diameter_readings;
      if (readings == 0 && kind == "across_flats") readings = recipe.across_flats_stations;
    }
    const recipe::Gauge* gauge = nullptr;
    if (!id.empty()) {
      const auto found = library_.gauges.find(id);
      if (found == library_.gauges.end()) {
        std::string known;
        for (const auto& [name, unused] : library_.gauges) known += (known.empty() ? "" : ", ") + name;
        asked.fail("gauge", id, "one of " + known);
      }
      gauge = &found->second;
    }
    return std::pair(bench.measure(kind, gauge, std::max(readings, 1)), gauge);
  });
  const auto& [evidence, gauge] = read;
  if (!evidence.ok()) throw Refused{409, evidence.problem()};

  const bench::Evidence& got = evidence.value();
  const std::string_view unit = got.kind == "turn" || got.kind == "reseated" ? "deg" : "mm";
  const int decimals = decimals_of(gauge);
  json out{{"kind", got.kind}};
  if (!got.gauge.empty()) out["gauge"] = got.gauge;
  if (!got.values.empty()) {
    out["values"] = json::array();
    for (const double value : got.values) out["values"].push_back(quantity::print(value, unit, decimals));
  }
  for (const auto& station : got.stations_mm) {
    json row = json::array();
    for (const double value : station) row.push_back(quantity::print(value, unit, decimals));
    out["stations"].push_back(row);
  }
  if (!got.result.empty()) out["result"] = got.result;
  return out;
}

}  // namespace shankwright::node
