#include "faulty_fittings.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::tests {

using diagnosis::Hypothesis;

std::vector<FaultKind> fault_kinds(const recipe::JoinedRecipe& joined) {
  const bool strand = joined.rope.construction == recipe::Construction::strand_1x19;
  std::vector<FaultKind> kinds{
      {Hypothesis::good, "good", 0, 0},
      {Hypothesis::no_rope, "no rope", 0, 0},
      {Hypothesis::oversize_shank, "shank over band by mm", 0.15, 0.35},
      {Hypothesis::undersize_shank, "shank under band by mm", 0.15, 0.35},
      {Hypothesis::solid_in_die, "die over solid, share", 0.2, 1.0},
      {Hypothesis::wrong_die, "neighbouring die", 0, 1},
      {Hypothesis::weak_pump_or_air, "pump worn, share at 700 bar", 0.8, 1.0},
      {Hypothesis::weak_pump_or_air, "air, share", 0.05, 0.15},
      {Hypothesis::dry_dies, "friction", 0.30, 0.40},
      {Hypothesis::frame_or_gap_sensor, "gap reads more by mm", 0.06, 0.35},
      {Hypothesis::frame_or_gap_sensor, "gap moves, mm/MN", 0.3, 1.0},
  };
  if (strand) {
    kinds.push_back({Hypothesis::softer_construction, "7x19 for 1x19", 0, 0});
    kinds.push_back({Hypothesis::softer_construction, "7x7 for 1x19", 0, 0});
    kinds.push_back({Hypothesis::harder_construction, "metal share", 1.2, 1.25});
  } else {
    kinds.push_back({Hypothesis::harder_construction, "1x19 for the rope", 0, 0});
    kinds.push_back({Hypothesis::softer_construction, "thinner rope, its metal", 0.50, 0.65});
  }
  return kinds;
}

std::vector<double> other_dies_mm(const library::Library& library, const recipe::JoinedRecipe& joined) {
  std::vector<double> out;
  for (const auto& [id, die] : library.die_pairs)
    if (die.shape == joined.die_pair.shape && id != joined.die_pair.id) out.push_back(die.across_flats_mm);
  return out;
}

Wrong wrong_of(const FaultKind& kind, double share, const recipe::JoinedRecipe& joined,
               const std::vector<double>& dies_mm) {
  const double size = kind.least + share * (kind.most - kind.least);
  Wrong wrong;
  switch (kind.truth) {
    case Hypothesis::no_rope:
      wrong.part.rope = bench::RopeChoice::none;
      break;
    case Hypothesis::softer_construction:
    case Hypothesis::harder_construction:
      if (kind.name == "7x19 for 1x19") wrong.part.rope = bench::RopeChoice::rope_7x19;
      if (kind.name == "7x7 for 1x19") wrong.part.rope = bench::RopeChoice::rope_7x7;
      if (kind.name == "1x19 for the rope") wrong.part.rope = bench::RopeChoice::strand_1x19;
      if (kind.name.starts_with("metal")) wrong.metal_share = size;
      if (kind.name.starts_with("thinner"))
        wrong.part.rope_diameter_mm =
            std::sqrt(size) * (joined.rope.diameter_mm.least + joined.rope.diameter_mm.most) / 2;
      break;
    case Hypothesis::oversize_shank:
      wrong.part.shank_diameter_mm = joined.terminal.shank_diameter_mm.most + size;
      break;
    case Hypothesis::undersize_shank:
      wrong.part.shank_diameter_mm = joined.terminal.shank_diameter_mm.least - size;
      break;
    case Hypothesis::solid_in_die:
      wrong.edge_off_mm = -joined.recipe.bore_end_clearance_mm - size * joined.die_pair.length_mm;
      break;
    case Hypothesis::wrong_die: {
      // The next smaller or the next larger pair of the shop.
      const double own = joined.die_pair.across_flats_mm;
      double below = 0, above = 1e9;
      for (const double die : dies_mm) {
        if (die < own - 0.1) below = std::max(below, die);
        if (die > own + 0.1) above = std::min(above, die);
      }
      wrong.across_flats_mm = (share < 0.5 || above > 1e8) && below > 0 ? below : above;
      break;
    }
    case Hypothesis::weak_pump_or_air:
      if (kind.name.starts_with("air"))
        wrong.press.air_fraction = size;
      else
        wrong.press.pump_wear = size;
      break;
    case Hypothesis::dry_dies:
      wrong.part.friction = size;
      break;
    case Hypothesis::frame_or_gap_sensor:
      if (kind.name.starts_with("gap moves"))
        wrong.gap_mm_per_mn = size;
      else
        wrong.press.gap_offset_mm = size;
      break;
    case Hypothesis::good:
    case Hypothesis::count_:
      break;
  }
  return wrong;
}

std::optional<diagnosis::TracedBite> traced(const PressedBite& bite, const recipe::JoinedRecipe& joined) {
  auto reading = diagnosis::read_trace(bite.trace, joined.press.ram_area_mm2, joined.recipe.target_force_kn);
  if (!reading) return std::nullopt;
  procedure::State state;
  state.pass = bite.pass;
  state.bite = bite.bite;
  state.bites_in_pass = bite.bites_in_pass;
  state.bore_depth_mm = bite.bore_depth_mm;
  state.previous_edge_mm = bite.previous_edge_mm;
  return diagnosis::TracedBite{diagnosis::place_of(state, bite.edge_mm, joined), std::move(reading).value()};
}

}  // namespace shankwright::tests
