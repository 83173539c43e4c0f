#include <cmath>
#include <numbers>

#include "library/kinds.hpp"
#include "library/names.hpp"
#include "recipe/rope.hpp"

/// Rope and terminal.
namespace shankwright::library {
namespace {

/// Fmin = d^2 Rr K / 1000 (EN 12385-4, as quoted by a rope supplier). A table rounds to three digits, so 1 %
/// is allowed; more is another grade, another factor or another diameter.
void check_breaking_force(const recipe::Rope& rope, const Places& at, MapReader& reader) {
  if (!at.all({"nominal_diameter", "minimum_breaking_force", "rope_grade", "breaking_force_factor"})) return;
  const double computed_kn =
      recipe::breaking_force_kn(rope.nominal_diameter_mm, *rope.rope_grade_mpa, *rope.breaking_force_factor);
  if (std::abs(rope.minimum_breaking_force_kn - computed_kn) <= 0.01 * computed_kn) return;
  reader.fault("minimum_breaking_force", "nominal_diameter^2 times rope_grade times breaking_force_factor, " +
                                             plain(std::round(computed_kn * 100) / 100) + " kN, within 1 %");
}

}  // namespace

Loaded<recipe::Rope> read_rope(const Node& root, FaultList& faults) {
  Loaded<recipe::Rope> out;
  recipe::Rope& rope = out.value;
  MapReader r(root, "", faults, out.places);
  rope.id = r.id("id");
  rope.construction = r.choice("construction", construction_names);
  rope.nominal_diameter_mm = r.quantity("nominal_diameter", length_mm, {0.5, 40});
  rope.diameter_mm = r.band("diameter", length_mm, {0.5, 44});
  rope.metallic_area_factor = r.number("metallic_area_factor", {0.2, std::numbers::pi / 4});
  rope.minimum_breaking_force_kn = r.quantity("minimum_breaking_force", force_kn, {0.1, 2000});
  rope.material = r.text("material");
  rope.source = r.text("source");
  rope.rope_grade_mpa = r.optional_quantity("rope_grade", stress_mpa, {1000, 2500});
  rope.breaking_force_factor = r.optional_number("breaking_force_factor", {0.1, 0.7});
  rope.elastic_modulus_mpa = r.optional_quantity("elastic_modulus", stress_mpa, {20e3, 220e3});
  rope.mass_factor = r.optional_number("mass_factor", {0.1, 0.8});

  if (out.places.all({"nominal_diameter", "diameter"})) {
    // Widest tolerance of the flexible cables in FAA AC 43.13-1B table 7-3 is 16 % over nominal (1/16 in).
    if (rope.diameter_mm.least < 0.90 * rope.nominal_diameter_mm ||
        rope.diameter_mm.most > 1.20 * rope.nominal_diameter_mm ||
        !(rope.diameter_mm.least <= rope.nominal_diameter_mm * 1.05)) {
      faults.add(out.places.at("diameter"),
                 plain(rope.diameter_mm.least) + " to " + plain(rope.diameter_mm.most) + " mm",
                 "a band about the nominal diameter, within 90 to 120 % of " +
                     plain(rope.nominal_diameter_mm) + " mm");
    }
  }
  if (out.places.all({"nominal_diameter", "metallic_area_factor", "minimum_breaking_force"})) {
    const double metal_mm2 = recipe::metallic_area_mm2(rope);
    const double loaded_mpa = 1000 * rope.minimum_breaking_force_kn / metal_mm2;
    if (loaded_mpa < 400 || loaded_mpa > 3000) {
      r.fault("minimum_breaking_force", "a force that loads the rope's metal with 400 to 3000 MPa, here " +
                                            plain(std::round(0.4 * metal_mm2)) + " to " +
                                            plain(std::round(3 * metal_mm2)) + " kN");
    }
  }
  check_breaking_force(rope, out.places, r);
  r.finish();
  return out;
}

Loaded<recipe::Terminal> read_terminal(const Node& root, FaultList& faults) {
  Loaded<recipe::Terminal> out;
  recipe::Terminal& terminal = out.value;
  MapReader r(root, "", faults, out.places);
  terminal.id = r.id("id");
  terminal.shank_diameter_mm = r.band("shank_diameter", length_mm, {1, 80});
  terminal.bore_diameter_mm = r.quantity("bore_diameter", length_mm, {0.5, 60});
  terminal.bore_depth_mm = r.band("bore_depth", length_mm, {3, 600});
  terminal.swage_length_mm = r.quantity("swage_length", length_mm, {3, 600});
  terminal.material = r.text("material");
  terminal.source = r.text("source");
  if (r.has("end")) {
    const auto end = r.choice("end", end_names);
    if (out.places.all({"end"})) terminal.end = end;
  } else {
    r.may_have("end");
  }
  terminal.pin_to_bore_end_mm = r.optional_band("pin_to_bore_end", length_mm, {0, 1000});

  if (out.places.all({"shank_diameter", "bore_diameter"}) &&
      terminal.bore_diameter_mm >= terminal.shank_diameter_mm.least) {
    r.fault("bore_diameter",
            "less than the least shank diameter, " + plain(terminal.shank_diameter_mm.least) + " mm");
  }
  if (out.places.all({"bore_depth", "swage_length"}) &&
      terminal.bore_depth_mm.least < terminal.swage_length_mm) {
    r.fault("swage_length", "no more than the least bore depth, " + plain(terminal.bore_depth_mm.least) +
                                " mm: dies never close on solid material");
  }
  r.finish();
  return out;
}

}  // namespace shankwright::library
