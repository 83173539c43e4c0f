#include <algorithm>
#include <cmath>

#include "simulators/bench/bench.hpp"

/// What terminals and ropes come out of the box like. Spreads are invented ("demo data") and kept to what a
/// drawing or a mill certificate would still allow.
namespace shankwright::bench {

namespace {

constexpr double play_mm = 0.05;  // least play of the rope in its bore, or it would not go in by hand

}  // namespace

plant::PartTruth draw_part(const recipe::JoinedRecipe& joined, const PartWish& wish, plant::Random& random) {
  const recipe::Terminal& terminal = joined.terminal;
  plant::PartTruth part;
  // All draws are made whatever is wished for, so that a wish changes nothing else.
  const double diameter = random.inside(terminal.shank_diameter_mm.least, terminal.shank_diameter_mm.most);
  const double depth = random.inside(terminal.bore_depth_mm.least, terminal.bore_depth_mm.most);
  const double bore = terminal.bore_diameter_mm + random.inside(0, 0.05);
  const double k_mpa = random.normal(1275, 25);
  const double friction = std::clamp(random.normal(0.10, 0.012), 0.06, 0.14);
  part.shank_od_mm = wish.shank_diameter_mm.value_or(diameter);
  part.bore_depth_mm = wish.bore_depth_mm.value_or(depth);
  part.bore_mm = wish.bore_diameter_mm.value_or(bore);
  part.flow.k_mpa = wish.flow_k_mpa.value_or(k_mpa);
  part.flow.n = std::clamp(random.normal(0.45, 0.006), 0.42, 0.48);
  part.flow.yield_mpa = std::clamp(random.normal(240, 10), 205.0, 275.0);
  part.friction = wish.friction.value_or(friction);
  part.ovality_mm = std::abs(random.normal(0, 0.006));
  part.crack_strain = random.normal(0.62, 0.04);
  return part;
}

plant::RopeTruth draw_rope(const recipe::JoinedRecipe& joined, const PartWish& wish, plant::Random& random) {
  const auto factor_and_grip = [&]() -> std::pair<double, double> {
    switch (wish.rope) {
      case RopeChoice::strand_1x19:
        return {0.597, 0.04};
      case RopeChoice::rope_7x7:
        return {0.432, 0.06};
      case RopeChoice::rope_7x19:
        return {0.418, 0.08};
      case RopeChoice::as_recipe:
      case RopeChoice::none:
        break;
    }
    switch (joined.rope.construction) {
      case recipe::Construction::strand_1x19:
        return {joined.rope.metallic_area_factor, 0.04};
      case recipe::Construction::rope_7x7:
        return {joined.rope.metallic_area_factor, 0.06};
      case recipe::Construction::rope_7x19:
        return {joined.rope.metallic_area_factor, 0.08};
    }
    return {joined.rope.metallic_area_factor, 0.06};
  }();
  const double diameter = random.inside(joined.rope.diameter_mm.least, joined.rope.diameter_mm.most);
  const double grip = std::clamp(random.normal(factor_and_grip.second, 0.02), 0.0, 0.2);
  plant::RopeTruth rope;
  rope.metal_area_factor = factor_and_grip.first * random.normal(1, 0.006);
  rope.diameter_mm =
      wish.rope_diameter_mm.value_or(std::min(diameter, joined.terminal.bore_diameter_mm - play_mm));
  rope.grip = wish.grip.value_or(grip);
  return rope;
}

}  // namespace shankwright::bench
