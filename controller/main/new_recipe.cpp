#include "main/new_recipe.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <optional>

#include "library/reader.hpp"

namespace shankwright::command {
namespace {

using recipe::GaugeKind;

template <typename T>
std::optional<Problem> take(const std::map<std::string, T>& all, const std::string& option,
                            const std::string& id, T& into) {
  const auto found = all.find(id);
  if (found != all.end()) {
    into = found->second;
    return std::nullopt;
  }
  if (id.empty()) return Problem{option, "nothing", "an id of the library, since --new is given"};
  std::string known;
  for (const auto& [name, value] : all) {
    if (known.size() > 300) {
      known += ", ...";
      break;
    }
    known += (known.empty() ? "" : ", ") + name;
  }
  return Problem{option, "\"" + id + "\"",
                 known.empty() ? "one of a library that has none" : "one of " + known};
}

}  // namespace

void add_new_recipe_options(CLI::App& command, NewRecipe& fresh) {
  constexpr auto group = "A recipe that does not exist yet";
  command.add_option("--new", fresh.id, "Its id; the parts it is made of follow")
      ->type_name("ID")
      ->group(group);
  command.add_option("--rope", fresh.rope, "Rope")->type_name("ID")->group(group);
  command.add_option("--terminal", fresh.terminal, "Terminal")->type_name("ID")->group(group);
  command.add_option("--die", fresh.die_pair, "Die pair")->type_name("ID")->group(group);
  command.add_option("--press", fresh.press, "Press")->type_name("ID")->group(group);
  command.add_option("--go", fresh.go_gauge, "Go gauge: upper limit across flats")
      ->type_name("ID")
      ->group(group);
  command.add_option("--no-go", fresh.no_go_gauge, "No-go gauge: lower limit")->type_name("ID")->group(group);
  command
      .add_option("--family", fresh.family,
                  "What an operator is qualified for; straight-shank-hexagon or -round when not given")
      ->type_name("ID")
      ->group(group);
}

Result<recipe::JoinedRecipe> begin_recipe(const NewRecipe& fresh, const library::Library& library) {
  recipe::JoinedRecipe joined;
  if (!library::is_id(fresh.id))
    return Problem{"--new", "\"" + fresh.id + "\"", std::string(library::id_expected)};
  if (library.recipes.contains(fresh.id))
    return Problem{"--new", fresh.id,
                   "an id that no recipe has; run trial " + fresh.id + " for its next revision"};
  for (const auto& problem : {take(library.ropes, "--rope", fresh.rope, joined.rope),
                              take(library.terminals, "--terminal", fresh.terminal, joined.terminal),
                              take(library.die_pairs, "--die", fresh.die_pair, joined.die_pair),
                              take(library.presses, "--press", fresh.press, joined.press),
                              take(library.gauges, "--go", fresh.go_gauge, joined.go_gauge),
                              take(library.gauges, "--no-go", fresh.no_go_gauge, joined.no_go_gauge)})
    if (problem) return *problem;
  if (!joined.go_gauge.size_mm || !joined.no_go_gauge.size_mm)
    return Problem{"--go, --no-go", fresh.go_gauge + ", " + fresh.no_go_gauge, "limit gauges with a size"};
  if (joined.rope.diameter_mm.most > joined.terminal.bore_diameter_mm)
    return Problem{"--rope", fmt::format("{}, up to {:.3f} mm", fresh.rope, joined.rope.diameter_mm.most),
                   fmt::format("a rope that enters the bore of {}, {:.3f} mm", fresh.terminal,
                               joined.terminal.bore_diameter_mm)};

  recipe::Recipe& r = joined.recipe;
  r.id = fresh.id;
  r.revision = 1;
  r.family = !fresh.family.empty()                                ? fresh.family
             : joined.die_pair.shape == recipe::DieShape::hexagon ? "straight-shank-hexagon"
                                                                  : "straight-shank-round";
  r.rope = fresh.rope;
  r.terminal = fresh.terminal;
  r.die_pair = fresh.die_pair;
  r.press = fresh.press;
  r.go_gauge = fresh.go_gauge;
  r.no_go_gauge = fresh.no_go_gauge;
  for (const auto& [id, gauge] : library.gauges) {
    if (gauge.kind == GaugeKind::go_gap || gauge.kind == GaugeKind::no_go_gap ||
        gauge.kind == GaugeKind::loupe || gauge.kind == GaugeKind::load_cell)
      continue;
    const bool first = std::none_of(joined.measuring_gauges.begin(), joined.measuring_gauges.end(),
                                    [&](const recipe::Gauge& other) { return other.kind == gauge.kind; });
    if (!first) continue;
    joined.measuring_gauges.push_back(gauge);
    r.measuring_gauges.push_back(id);
  }
  r.mark_tolerance_mm = 0.5;
  r.insertion_tolerance_mm = 0.8;
  const double room_mm = joined.terminal.bore_depth_mm.least - joined.terminal.swage_length_mm;
  r.bore_end_clearance_mm = std::clamp(std::floor(room_mm * 100) / 100, 0., 1.5);
  r.position_tolerance_mm = std::min(0.7, std::max(0.05, joined.die_pair.length_mm / 20));
  r.least_edge_mm = std::min(0.7, r.bore_end_clearance_mm);
  r.least_overlap_mm = 2;
  r.passes = 2;
  r.turn_deg = 90;
  r.turn_tolerance_deg = 5;
  r.least_flat_offset_deg = 20;
  r.dwell_ms = 500;
  r.closed_gap_mm = 0.05;
  r.stroke_timeout_ms = 30000;
  r.permit_life_ms = 60000;
  r.repeat_bites_max = 2;
  r.across_flats_mm = {*joined.no_go_gauge.size_mm, *joined.go_gauge.size_mm};
  r.across_flats_stations = 3;
  r.growth_fraction = {0, 0.40};  // only so far as the bite plan must reach, until the trial has found it
  r.straightness_mm_max = 0.5;
  r.slip_mm_max = 0.8;
  r.re_presses_max = 1;
  return joined;
}

}  // namespace shankwright::command
