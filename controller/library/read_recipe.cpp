#include <cmath>

#include "library/checks.hpp"
#include "library/kinds.hpp"
#include "library/names.hpp"

namespace shankwright::library {
namespace {

void read_references(MapReader& r, recipe::Recipe& recipe) {
  recipe.rope = r.id("rope");
  recipe.terminal = r.id("terminal");
  recipe.die_pair = r.id("die_pair");
  recipe.press = r.id("press");
  recipe.go_gauge = r.id("go_gauge");
  recipe.no_go_gauge = r.id("no_go_gauge");
  recipe.measuring_gauges = r.id_list("measuring_gauges", 1);
}

void read_preparation(MapReader& r, recipe::Recipe& recipe) {
  MapReader p = r.map("preparation");
  recipe.rope_diameter_readings = static_cast<int>(p.whole("rope_diameter_readings", 1, 20));
  recipe.mark_tolerance_mm = p.quantity("mark_tolerance", length_mm, {0.05, 10});
  recipe.insertion_tolerance_mm = p.quantity("insertion_tolerance", length_mm, {0.05, 10});
  p.finish();
}

void read_position(MapReader& r, recipe::Recipe& recipe) {
  MapReader p = r.map("position");
  recipe.bore_end_clearance_mm = p.quantity("bore_end_clearance", length_mm, {0, 50});
  recipe.position_tolerance_mm = p.quantity("tolerance", length_mm, {0.05, 10});
  recipe.least_edge_mm = p.quantity("least_edge", length_mm, {0, 50});
  recipe.least_overlap_mm = p.quantity("least_overlap", length_mm, {0, 100});
  p.finish();
}

void read_turn(MapReader& r, recipe::Recipe& recipe) {
  MapReader t = r.map("turn");
  recipe.passes = static_cast<int>(t.whole("passes", 1, 4));
  recipe.turn_deg = t.quantity("angle", angle_deg, {0, 359.9});
  recipe.turn_tolerance_deg = t.quantity("tolerance", angle_deg, {0.1, 45});
  recipe.least_flat_offset_deg = t.quantity("least_flat_offset", angle_deg, {0.1, 90});
  t.finish();
}

std::vector<recipe::ForceAtGap> read_pass(const Node& node, const std::string& path, std::uint32_t number,
                                          FaultList& faults, Places& places) {
  std::vector<recipe::ForceAtGap> out;
  MapReader pass(node, path, faults, places);
  const std::uint32_t written = pass.whole("pass", 1, 4);
  if (places.all({path + ".pass"}) && written != number) {
    pass.fault("pass", std::to_string(number) + ": passes in order, each once");
  }
  for (const auto& [item, item_path] : pass.list("force", 1, "forces at gaps")) {
    MapReader f(*item, item_path, faults, places);
    recipe::ForceAtGap at;
    at.gap_mm = f.quantity("gap", length_mm, {0.001, 60});
    at.force_kn.least = f.quantity("least", force_kn, {0, 20000});
    at.force_kn.most = f.quantity("most", force_kn, {0.01, 20000});
    if (places.all({item_path + ".least", item_path + ".most"}) && at.force_kn.least > at.force_kn.most) {
      f.fault("least", "no more than \"most\"");
    }
    if (!out.empty() && places.all({item_path + ".gap"}) && at.gap_mm >= out.back().gap_mm) {
      f.fault("gap", "less than the gap before it, " + plain(out.back().gap_mm) +
                         " mm: gaps in the order the dies close");
    }
    f.finish();
    out.push_back(at);
  }
  pass.finish();
  return out;
}

void read_bite(MapReader& r, recipe::Recipe& recipe, FaultList& faults, Places& places) {
  MapReader b = r.map("bite");
  recipe.target_force_kn = b.quantity("target_force", force_kn, {0.5, 20000});
  recipe.force_limit_kn = b.quantity("force_limit", force_kn, {0.5, 20000});
  // The press map carries times as 16-bit milliseconds and the gap as 16-bit micrometres.
  recipe.dwell_ms = b.quantity("dwell", duration_ms, {20, 60000});
  recipe.closed_gap_mm = b.quantity("closed_gap", length_mm, {0.005, 2});
  recipe.stroke_timeout_ms = b.quantity("stroke_timeout", duration_ms, {500, 65535});
  recipe.permit_life_ms = b.quantity("permit_life", duration_ms, {1000, 65535});
  recipe.repeat_bites_max = static_cast<int>(b.whole("repeats_max", 0, 20));
  recipe.peak_force_kn = b.band("peak_force", force_kn, {0.5, 20000});
  std::uint32_t number = 0;
  for (const auto& [item, path] : b.list("envelope", 1, "passes")) {
    recipe.envelope.push_back(read_pass(*item, path, ++number, faults, places));
  }
  b.finish();
}

void read_gauging(MapReader& r, recipe::Recipe& recipe) {
  MapReader g = r.map("gauging");
  recipe.across_flats_mm = g.band("across_flats", length_mm, {1, 80});
  recipe.across_flats_stations = static_cast<int>(g.whole("stations", 1, 20));
  recipe.growth_fraction = g.band("growth", percentage, {0, 0.6});
  recipe.growth_second_pass_least = g.quantity("growth_second_pass_least", percentage, {0, 0.3});
  recipe.straightness_mm_max = g.quantity("straightness_max", length_mm, {0.01, 10});
  recipe.slip_mm_max = g.quantity("slip_max", length_mm, {0.05, 10});
  recipe.re_presses_max = static_cast<int>(g.whole("re_presses_max", 0, 10));
  g.finish();
}

/// Two keys that came later: a recipe may leave them out.
void read_ends(MapReader& r, recipe::Recipe& recipe) {
  if (r.has("two_person_disposition"))
    recipe.two_person_disposition = r.yes_no("two_person_disposition");
  else
    r.may_have("two_person_disposition");
  if (!r.has("proof")) return r.may_have("proof");
  MapReader p = r.map("proof");
  recipe::ProofTest& proof = recipe.proof.emplace();
  proof.load_kn = p.quantity("load", force_kn, {0.1, 20000});
  proof.hold_s = p.quantity("hold", duration_ms, {1000, 86'400'000}) / 1000;
  proof.slip_mm_max = p.quantity("slip_max", length_mm, {0.05, 10});
  p.finish();
}

}  // namespace

Loaded<recipe::Recipe> read_recipe(const Node& root, FaultList& faults) {
  Loaded<recipe::Recipe> out;
  recipe::Recipe& recipe = out.value;
  MapReader r(root, "", faults, out.places);
  recipe.id = r.id("id");
  recipe.revision = r.whole("revision", 1, 9999);
  recipe.status = r.choice("status", status_names);
  recipe.family = r.id("family");
  recipe.source = r.text("source");
  read_references(r, recipe);
  read_preparation(r, recipe);
  read_position(r, recipe);
  read_turn(r, recipe);
  read_bite(r, recipe, faults, out.places);
  read_gauging(r, recipe);
  read_ends(r, recipe);
  r.finish();
  check_recipe_alone(out, faults);
  return out;
}

}  // namespace shankwright::library
