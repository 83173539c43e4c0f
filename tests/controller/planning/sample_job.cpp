#include "sample_job.hpp"

namespace shankwright::planning::tests {

recipe::JoinedRecipe sample_recipe() {
  recipe::JoinedRecipe j;
  j.rope.id = "strand";
  j.rope.construction = recipe::Construction::strand_1x19;
  j.rope.nominal_diameter_mm = 6;
  j.rope.diameter_mm = {5.96, 6.18};
  j.rope.metallic_area_factor = 0.597;
  j.rope.minimum_breaking_force_kn = 30;
  j.rope.material = "stainless steel";
  j.rope.elastic_modulus_mpa = 148e3;
  j.rope.mass_factor = 0.5;
  j.terminal.id = "fork";
  j.terminal.shank_diameter_mm = {10.85, 10.95};
  j.terminal.bore_diameter_mm = 6.45;
  j.terminal.bore_depth_mm = {63.8, 64.2};
  j.terminal.swage_length_mm = 62;
  j.terminal.pin_to_bore_end_mm = recipe::Band{31.8, 32.2};
  j.die_pair.id = "hex";
  j.die_pair.tag = 14;
  j.die_pair.across_flats_mm = 9.6;
  j.die_pair.length_mm = 43;
  j.die_pair.rated_force_kn = 700;
  j.die_pair.life_strokes = 20000;
  j.press.id = "press";
  j.press.ram_area_mm2 = 21000;
  j.press.pressure_max_bar = 705;
  j.press.capacity_kn = 1470;
  j.recipe.id = "swage";
  j.recipe.revision = 1;
  j.recipe.status = recipe::Status::released;
  j.recipe.rope = "strand";
  j.recipe.terminal = "fork";
  j.recipe.die_pair = "hex";
  j.recipe.press = "press";
  j.recipe.go_gauge = "go";
  j.recipe.no_go_gauge = "no-go";
  j.recipe.measuring_gauges = {"caliper"};
  j.recipe.mark_tolerance_mm = 0.5;
  j.recipe.insertion_tolerance_mm = 0.8;
  j.recipe.bore_end_clearance_mm = 1.5;
  j.recipe.position_tolerance_mm = 0.7;
  j.recipe.least_edge_mm = 0.7;
  j.recipe.least_overlap_mm = 2;
  j.recipe.passes = 2;
  j.recipe.target_force_kn = 440;
  j.recipe.force_limit_kn = 500;
  j.recipe.growth_fraction = {0.16, 0.24};
  return j;
}

Parts sample_parts() {
  const recipe::JoinedRecipe joined = sample_recipe();
  return {{{"strand", joined.rope}}, {{"swage", joined}}};
}

Job sample_job() {
  Job job;
  job.id = "job";
  job.title = "demo data";
  job.source = "demo data";
  job.cutting_loss_mm = 5;
  job.cutting_tolerance_mm = 1;
  Assembly assembly;
  assembly.mark = "A1";
  assembly.quantity = 2;
  assembly.rope = "strand";
  assembly.pin_to_pin_mm = 5000;
  assembly.tension_kn = 4.5;
  assembly.prestretched = true;
  for (End& end : assembly.ends) end.recipe = "swage";
  job.assemblies = {assembly};
  return job;
}

}  // namespace shankwright::planning::tests
