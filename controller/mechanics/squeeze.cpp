#include "mechanics/squeeze.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>

#include "quantity/quantity.hpp"

namespace shankwright::mechanics {
namespace {

Problem wrong(std::string place, double found, const char* unit, std::string expected) {
  return {std::move(place), quantity::print(found, unit, 4), std::move(expected)};
}

/// Metal between the die faces carries the force and is no part of the section any more: beyond a fin of this
/// share of the dies' size nothing computed means anything.
constexpr double most_flash = 0.10;

bool within(double value, double least, double most) {
  return value >= least && value <= most;
}  // false for NaN

/// The gap at which something began, between the last report without it and the first with it.
void note_begin(std::optional<double>& began, bool holds, double gap_mm) {
  if (holds && !began) began = gap_mm;
}

}  // namespace

std::optional<Problem> fault_of(const SqueezeInput& input) {
  const SectionInput& s = input.section;
  if (!within(s.shank_diameter_mm, 1, 80))
    return wrong("shank diameter", s.shank_diameter_mm, "mm", "1 to 80 mm");
  if (s.bore_mm != 0 && !within(s.bore_mm, 0.1 * s.shank_diameter_mm, 0.9 * s.shank_diameter_mm))
    return wrong("bore", s.bore_mm, "mm", "0 for solid, or 10 to 90 % of the shank diameter");
  if (s.rope) {
    if (s.bore_mm == 0) return Problem{"rope", "a rope in solid material", "no rope, or a bore"};
    if (!within(s.rope->diameter_mm, 0.3 * s.bore_mm, s.bore_mm))
      return wrong("rope diameter", s.rope->diameter_mm, "mm",
                   "30 to 100 % of the bore: a thicker rope does not enter");
    if (!within(s.rope->metal_area_factor, 0.2, 0.785))
      return wrong("metal area factor", s.rope->metal_area_factor, "", "0.2 to 0.785 (a solid bar)");
    if (!within(s.rope->grip, 0, 1)) return wrong("grip", s.rope->grip, "", "0 (slides) to 1 (gripped)");
  }
  if (!within(s.flow.strength_mpa, 100, 5000))
    return wrong("flow strength K", s.flow.strength_mpa, "MPa", "100 to 5000 MPa");
  if (!within(s.flow.hardening, 0.02, 0.9))
    return wrong("hardening exponent n", s.flow.hardening, "", "0.02 to 0.9");
  if (!within(s.flow.yield_mpa, 20, 0.95 * s.flow.strength_mpa))
    return wrong("yield", s.flow.yield_mpa, "MPa", "20 MPa to 95 % of K");
  if (!within(s.friction, 0, 0.5)) return wrong("friction", s.friction, "", "0 to 0.5");
  if (!within(s.axial_force_n, 0, 1e6)) return wrong("axial force", s.axial_force_n, "N", "0 to 1000 kN");
  if (!within(input.die.across_flats_mm, 0.7 * s.shank_diameter_mm, 80))
    return wrong("across flats", input.die.across_flats_mm, "mm", "70 % of the shank diameter to 80 mm");
  if (!within(input.passes, 1, 4)) return wrong("passes", input.passes, "", "1 to 4");
  if (!within(input.least_gap_mm, 0, 80)) return wrong("least gap", input.least_gap_mm, "mm", "0 to 80 mm");
  return {};
}

Result<SqueezeCourse> squeeze(const SqueezeInput& input, std::vector<double> gaps_mm) {
  if (auto fault = fault_of(input)) return *fault;
  for (const double gap : gaps_mm)
    if (!within(gap, input.least_gap_mm, 1000))
      return wrong("gap", gap, "mm",
                   "no less than the gap the dies stop at, " + quantity::print(input.least_gap_mm, "mm", 3));
  gaps_mm.push_back(input.least_gap_mm);
  std::sort(gaps_mm.begin(), gaps_mm.end(), std::greater<>());
  gaps_mm.erase(std::unique(gaps_mm.begin(), gaps_mm.end()), gaps_mm.end());

  SqueezeCourse out;
  try {
    Section section(input.section, input.die, input.fineness);
    for (int pass = 1; pass <= input.passes; ++pass) {
      if (pass > 1) section.quarter_turn();
      PassResult result;
      result.pass = pass;
      result.touch_gap_mm = section.touch_gap_mm();
      const double look_every = std::max(0.01, (result.touch_gap_mm - input.least_gap_mm) / 40);
      const auto look = [&](const SectionReading& now) {
        const double gap = section.gap_mm();
        note_begin(result.base_gap_mm, now.base_touch, gap);
        note_begin(result.rope_gap_mm, now.rope_pressure_mpa > 0, gap);
        note_begin(result.lock_up_gap_mm, now.rope_pressure_mpa >= input.section.flow.yield_mpa, gap);
      };
      double held_width = 0;
      for (const double gap : gaps_mm) {
        while (section.gap_mm() - look_every > gap) {
          section.close_to(section.gap_mm() - look_every);
          look(section.reading());
        }
        section.close_to(gap);
        const SectionReading now = section.reading();
        look(now);
        out.points.push_back({pass, gap, now.force_n_per_mm, now.growth, now.outer_area_mm2,
                              now.bore_area_mm2, now.die_pressure_mpa, now.rope_pressure_mpa,
                              now.rope_packing});
        result.closing_force_n_per_mm = now.force_n_per_mm;
        held_width =
            std::max(now.base_width_mm, input.die.shape == DieShape::hexagon ? now.side_width_mm : 0);
      }
      section.open();
      const SectionReading left = section.reading();
      result.growth = left.growth;
      result.base_width_mm = left.base_width_mm;
      result.side_width_mm = left.side_width_mm;
      result.across_flats_mm =
          std::max(left.base_width_mm, input.die.shape == DieShape::hexagon ? left.side_width_mm : 0);
      result.earlier_flats_mm = pass > 1 ? left.first_width_mm : 0;
      result.spring_back_mm = result.across_flats_mm - held_width;
      result.flash_mm = left.flash_mm;
      result.rope_packing = left.rope_packing;
      out.after.push_back(result);
      if (result.flash_mm > most_flash * input.die.across_flats_mm)
        return wrong(
            "across flats", input.die.across_flats_mm, "mm",
            "larger dies: " + quantity::print(result.flash_mm, "mm", 2) +
                " of metal would be pressed out at the parting line on each side, where the model ends");
    }
  } catch (const NoEquilibrium& none) {
    return Problem{"section", none.what(), "dimensions nearer to those of a swaged terminal"};
  }
  return out;
}

}  // namespace shankwright::mechanics
