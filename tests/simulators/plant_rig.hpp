#pragma once
#include <algorithm>

#include "recipe/model.hpp"
#include "simulators/plant/part.hpp"
#include "simulators/plant/plant.hpp"

/// A recipe like those of the library and one stroke of the press, without the press's logic. All values demo
/// data.
namespace shankwright::plant::testing {

inline recipe::JoinedRecipe demo_recipe() {
  recipe::JoinedRecipe joined;
  joined.rope.id = "demo-7x19-3-16";
  joined.rope.construction = recipe::Construction::rope_7x19;
  joined.rope.nominal_diameter_mm = 4.76;
  joined.rope.diameter_mm = {4.68, 4.90};
  joined.rope.metallic_area_factor = 0.418;
  joined.terminal.shank_diameter_mm = {9.05, 9.15};
  joined.terminal.bore_diameter_mm = 5.16;
  joined.terminal.bore_depth_mm = {52, 53};
  joined.terminal.swage_length_mm = 50;
  joined.die_pair.id = "demo-hexagon-7-95";
  joined.die_pair.tag = 101;
  joined.die_pair.across_flats_mm = 7.95;
  joined.die_pair.length_mm = 25;
  joined.recipe.target_force_kn = 190;
  joined.recipe.dwell_ms = 200;
  joined.recipe.bore_end_clearance_mm = 2;
  joined.recipe.position_tolerance_mm = 0.5;
  joined.recipe.least_edge_mm = 0.5;
  joined.recipe.least_overlap_mm = 1;
  joined.recipe.growth_fraction = {0.10, 0.21};
  joined.recipe.across_flats_mm = {7.93, 8.06};
  return joined;
}

inline recipe::Gauge gauge(const char* id, recipe::GaugeKind kind, double resolution, double uncertainty) {
  recipe::Gauge g;
  g.id = id;
  g.kind = kind;
  g.resolution_mm = resolution;
  g.expanded_uncertainty_mm = uncertainty;
  return g;
}

struct Stroke {
  double duration_ms = 0, peak_bar = 0, least_gap_mm = 1e9, dwell_ms = 0, pressure_at_half_mm_bar = 0;
  bool home_again = false, finite = true;
  PlantState last_held;  ///< at the end of the dwell
};

/// Closes to the target, holds for the dwell, opens. Gives up closing after `timeout_ms`.
inline Stroke press_once(Plant& plant, Load& load, double target_bar, double dwell_ms,
                         double timeout_ms = 6000) {
  Stroke stroke;
  bool opening = false;
  for (double t = 1; t <= timeout_ms + 2000; t += 1) {
    const PlantState& s = plant.step(0.001, {true, opening ? Valve::open : Valve::close, target_bar}, load);
    stroke.finite = stroke.finite && s.finite();
    stroke.duration_ms = t;
    stroke.peak_bar = std::max(stroke.peak_bar, s.pressure_bar);
    stroke.least_gap_mm = std::min(stroke.least_gap_mm, s.gap_mm);
    if (!opening && s.gap_mm > 0.5) stroke.pressure_at_half_mm_bar = s.pressure_bar;
    if (!opening && s.pressure_bar >= target_bar) stroke.dwell_ms += 1;
    if (!opening && (stroke.dwell_ms >= dwell_ms || t >= timeout_ms)) {
      stroke.last_held = s;
      opening = true;
    }
    if (opening && s.home) {
      stroke.home_again = true;
      break;
    }
  }
  return stroke;
}

}  // namespace shankwright::plant::testing
