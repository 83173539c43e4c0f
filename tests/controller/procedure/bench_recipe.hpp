#pragma once
#include "recipe/model.hpp"

/// A small invented recipe for tests of the procedure: two bites a pass, two passes, round numbers.
namespace shankwright::tests {

inline recipe::JoinedRecipe bench_recipe() {
  recipe::JoinedRecipe j;
  j.rope.id = "rope";
  j.rope.diameter_mm = {4.7, 5.0};
  j.terminal.id = "terminal";
  j.terminal.shank_diameter_mm = {9.0, 9.2};
  j.terminal.bore_depth_mm = {28, 34};
  j.terminal.swage_length_mm = 30;
  j.die_pair.id = "dies";
  j.die_pair.tag = 101;
  j.die_pair.shape = recipe::DieShape::hexagon;
  j.die_pair.across_flats_mm = 7.95;
  j.die_pair.length_mm = 23;
  j.press.id = "press";
  j.press.ram_area_mm2 = 20000;
  j.press.require_shank_sensor = true;
  recipe::Recipe& r = j.recipe;
  r.id = "recipe";
  r.revision = 1;
  r.status = recipe::Status::released;
  r.rope_diameter_readings = 2;
  r.mark_tolerance_mm = 0.5;
  r.insertion_tolerance_mm = 0.8;
  r.bore_end_clearance_mm = 2;
  r.position_tolerance_mm = 1;
  r.least_edge_mm = 0.5;
  r.least_overlap_mm = 1;
  r.passes = 2;
  r.turn_deg = 90;
  r.turn_tolerance_deg = 35;  // wider than any real recipe, so that flats on flats must be caught by itself
  r.least_flat_offset_deg = 10;
  r.target_force_kn = 150;
  r.force_limit_kn = 200;
  r.dwell_ms = 300;
  r.closed_gap_mm = 0.05;
  r.stroke_timeout_ms = 5000;
  r.permit_life_ms = 10000;
  r.repeat_bites_max = 1;
  r.envelope = {{{0.5, {80, 120}}}, {{0.5, {80, 120}}}};
  r.peak_force_kn = {140, 160};
  r.across_flats_mm = {7.90, 8.10};
  r.across_flats_stations = 1;
  r.growth_fraction = {0.05, 0.2};
  r.straightness_mm_max = 0.3;
  r.slip_mm_max = 0.5;
  r.re_presses_max = 1;
  return j;
}

/// The same, with everything asked for that a recipe may ask for: a proof load, and two reviewers.
inline recipe::JoinedRecipe careful_recipe() {
  recipe::JoinedRecipe j = bench_recipe();
  j.recipe.proof = recipe::ProofTest{12, 180, 0.5};
  j.recipe.two_person_disposition = true;
  return j;
}

}  // namespace shankwright::tests
