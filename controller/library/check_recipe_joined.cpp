#include <algorithm>
#include <cmath>

#include "library/checks.hpp"
#include "recipe/bite_plan.hpp"

namespace shankwright::library {
namespace {

using recipe::GaugeKind;
using recipe::JoinedRecipe;

std::string kn(double value) {
  return plain(std::round(value * 1e4) / 1e4) + " kN";
}
std::string mm(double value) {
  return plain(std::round(value * 1e4) / 1e4) + " mm";
}

struct Check {
  const recipe::Recipe& recipe;
  const Places& places;
  const JoinedRecipe& joined;
  FaultList& faults;
  FaultList& warnings;
};

/// Angle from `angle` to the nearest multiple of `step`, degrees.
double off_multiple(double angle, double step) {
  const double over = std::fmod(angle, step);
  return std::min(over, step - over);
}

void check_turn(const Check& c) {
  if (c.recipe.passes < 2 ||
      !c.places.all({"die_pair", "turn.passes", "turn.angle", "turn.tolerance", "turn.least_flat_offset"}))
    return;
  // A hexagon looks the same every 60 degrees, the parting line of a round pair every 180.
  const bool hexagon = c.joined.die_pair.shape == recipe::DieShape::hexagon;
  const double step = hexagon ? 60 : 180;
  const double worst = off_multiple(c.recipe.turn_deg, step) - c.recipe.turn_tolerance_deg;
  if (worst < c.recipe.least_flat_offset_deg - 1e-9) {
    c.faults.add(c.places.at("turn.tolerance"), plain(c.recipe.turn_tolerance_deg) + " deg",
                 "a turn that stays least_flat_offset, " + plain(c.recipe.least_flat_offset_deg) +
                     " deg, off every multiple of " + plain(step) + " deg: otherwise " +
                     (hexagon ? "flats fall on flats" : "the parting line falls on itself"));
  }
}

void check_parts(const Check& c) {
  const recipe::Terminal& t = c.joined.terminal;
  if (c.places.all({"terminal", "rope"}) && c.joined.rope.diameter_mm.most > t.bore_diameter_mm) {
    c.faults.add(c.places.at("rope"), c.recipe.rope + ", up to " + mm(c.joined.rope.diameter_mm.most),
                 "a rope that enters the bore of " + c.recipe.terminal + ", " + mm(t.bore_diameter_mm));
  }
  if (c.places.all({"terminal", "die_pair"}) &&
      c.joined.die_pair.across_flats_mm >= t.shank_diameter_mm.least) {
    c.faults.add(
        c.places.at("die_pair"), c.recipe.die_pair + ", " + mm(c.joined.die_pair.across_flats_mm),
        "a die pair narrower than the shank of " + c.recipe.terminal + ", " + mm(t.shank_diameter_mm.least));
  }
  if (c.places.all({"terminal", "position.bore_end_clearance"}) &&
      c.recipe.bore_end_clearance_mm > t.bore_depth_mm.least - t.swage_length_mm + 1e-9) {
    c.faults.add(c.places.at("position.bore_end_clearance"), mm(c.recipe.bore_end_clearance_mm),
                 "no more than the least bore depth less the swage length, " +
                     mm(t.bore_depth_mm.least - t.swage_length_mm) +
                     ": otherwise part of the swage length stays unpressed");
  }
}

void check_press(const Check& c) {
  const recipe::Press& press = c.joined.press;
  const recipe::DiePair& die = c.joined.die_pair;
  const double pressure_kn = press.pressure_max_bar * press.ram_area_mm2 / 1e4;
  const auto within = [&](const char* path, double force_kn) {
    if (!c.places.all({path})) return;
    const bool press_known = c.places.all({"press"});
    if (press_known && force_kn > press.capacity_kn) {
      c.faults.add(c.places.at(path), kn(force_kn),
                   "no more than the capacity of " + press.id + ", " + kn(press.capacity_kn));
    } else if (press_known && force_kn > pressure_kn) {
      c.faults.add(c.places.at(path), kn(force_kn),
                   "no more than " + press.id + " gives at its greatest pressure, " + kn(pressure_kn));
    }
    if (c.places.all({"die_pair"}) && force_kn > die.rated_force_kn) {
      c.faults.add(c.places.at(path), kn(force_kn),
                   "no more than the rated force of " + die.id + ", " + kn(die.rated_force_kn));
    }
  };
  within("bite.target_force", c.recipe.target_force_kn);
  within("bite.force_limit", c.recipe.force_limit_kn);
  if (!c.places.all({"die_pair", "terminal"})) return;

  // Where the dies first touch the shank: hexagon on its side flats at 2 (D - W), round groove at D - W.
  const double squeeze = c.joined.terminal.shank_diameter_mm.most - die.across_flats_mm;
  const double contact_mm = die.shape == recipe::DieShape::hexagon ? 2 * squeeze : squeeze;
  for (std::size_t pass = 0; pass < c.recipe.envelope.size(); ++pass) {
    for (std::size_t i = 0; i < c.recipe.envelope[pass].size(); ++i) {
      const std::string path =
          "bite.envelope[" + std::to_string(pass) + "].force[" + std::to_string(i) + "].gap";
      if (c.places.all({path}) && squeeze > 0 && c.recipe.envelope[pass][i].gap_mm >= contact_mm) {
        c.faults.add(c.places.at(path), mm(c.recipe.envelope[pass][i].gap_mm),
                     "less than the gap at which the dies first touch the shank, " + mm(contact_mm));
      }
    }
  }
}

void check_plan(const Check& c) {
  if (!c.places.all({"terminal", "die_pair", "position.bore_end_clearance", "position.tolerance",
                     "position.least_edge", "position.least_overlap", "gauging.growth"})) {
    return;
  }
  if (c.recipe.least_edge_mm > c.recipe.bore_end_clearance_mm) return;  // already a fault
  for (const double growth : {0.0, c.recipe.growth_fraction.most}) {
    const auto plan = recipe::bite_plan(c.joined, growth);
    if (plan.empty()) {
      c.faults.add(c.places.at("position.tolerance"), mm(c.recipe.position_tolerance_mm),
                   "a tolerance and overlap that leave the die, " + mm(c.joined.die_pair.length_mm) +
                       ", room to cover the swage length");
      return;
    }
    const recipe::Band& first = plan.front().accepted_mm;
    if (plan.front().edge_mm - first.least < c.recipe.position_tolerance_mm / 2) {
      c.warnings.add(c.places.at("position.tolerance"),
                     "an accepted edge from " + mm(first.least) + " to " + mm(first.most),
                     "room on both sides of the planned " + mm(plan.front().edge_mm) +
                         ": least_edge, or a die only just long enough, leaves little");
      break;
    }
  }
  if (c.places.all({"preparation.mark_tolerance"}) && c.recipe.least_edge_mm < c.recipe.mark_tolerance_mm) {
    c.warnings.add(c.places.at("position.least_edge"), mm(c.recipe.least_edge_mm),
                   "mark_tolerance, " + mm(c.recipe.mark_tolerance_mm) +
                       ", or more: the die is set by the mark, and the mark may be off by that much");
  }
}

void check_limit_gauges(const Check& c) {
  const auto gauge_is = [&](const char* path, const recipe::Gauge& gauge, GaugeKind kind,
                            const char* called) {
    if (!c.places.all({path})) return false;
    if (gauge.kind == kind && gauge.size_mm) return true;
    c.faults.add(c.places.at(path), gauge.id, std::string("a gauge of kind ") + called);
    return false;
  };
  const bool go = gauge_is("go_gauge", c.joined.go_gauge, GaugeKind::go_gap, "go_gap");
  const bool no_go = gauge_is("no_go_gauge", c.joined.no_go_gauge, GaugeKind::no_go_gap, "no_go_gap");
  constexpr double same_mm = 0.0005;
  // After swaging the shank must enter the go gap and must not enter the no-go gap: go is the greater.
  if (go && no_go && *c.joined.no_go_gauge.size_mm >= *c.joined.go_gauge.size_mm) {
    c.faults.add(c.places.at("no_go_gauge"), c.recipe.no_go_gauge + ", " + mm(*c.joined.no_go_gauge.size_mm),
                 "a no-go size below the go size, " + mm(*c.joined.go_gauge.size_mm));
  }
  if (!c.places.all({"gauging.across_flats"})) return;
  const recipe::Band& flats = c.recipe.across_flats_mm;
  if (go && std::abs(*c.joined.go_gauge.size_mm - flats.most) > same_mm) {
    c.faults.add(c.places.at("gauging.across_flats.most"), mm(flats.most),
                 "the size of " + c.recipe.go_gauge + ", " + mm(*c.joined.go_gauge.size_mm));
  }
  if (no_go && std::abs(*c.joined.no_go_gauge.size_mm - flats.least) > same_mm) {
    c.faults.add(c.places.at("gauging.across_flats.least"), mm(flats.least),
                 "the size of " + c.recipe.no_go_gauge + ", " + mm(*c.joined.no_go_gauge.size_mm));
  }
  if (!c.places.all({"die_pair", "bite.closed_gap"})) return;
  // Spring-back is about 0.4 % of across flats (0.03 mm at 8 mm, finite-element cases); a gap left at the
  // stop adds to it.
  const double width = c.joined.die_pair.across_flats_mm;
  const double after_least = width;
  const double after_most = width * 1.008 + c.recipe.closed_gap_mm;
  if (after_least >= flats.most || after_most <= flats.least) {
    c.faults.add(
        c.places.at("die_pair"),
        c.recipe.die_pair + ", " + mm(width) + ", which gives " + mm(after_least) + " to " + mm(after_most),
        "a die pair that gives " + mm(flats.least) + " to " + mm(flats.most) + " across flats");
  }
}

bool measures_diameter(GaugeKind kind) {
  return kind == GaugeKind::caliper || kind == GaugeKind::micrometer;
}

void check_measuring_gauges(const Check& c) {
  if (!c.places.all({"measuring_gauges"})) return;
  double best_mm = 1e9;
  for (std::size_t i = 0; i < c.joined.measuring_gauges.size(); ++i) {
    const recipe::Gauge& gauge = c.joined.measuring_gauges[i];
    if (gauge.kind == GaugeKind::go_gap || gauge.kind == GaugeKind::no_go_gap) {
      c.faults.add(c.places.at("measuring_gauges[" + std::to_string(i) + "]"), gauge.id,
                   "a gauge that gives a reading; limit gauges have keys of their own");
    }
    if (measures_diameter(gauge.kind)) best_mm = std::min(best_mm, gauge.expanded_uncertainty_mm);
  }
  if (best_mm < 1e9 && c.places.all({"gauging.across_flats"}) &&
      2 * best_mm >= c.recipe.across_flats_mm.most - c.recipe.across_flats_mm.least) {
    c.faults.add(c.places.at("measuring_gauges"), "an uncertainty of " + mm(best_mm) + " at best",
                 "a caliper or micrometer whose uncertainty, taken off both ends, leaves something of the "
                 "across-flats band");
  }
  const auto wants = [&](const char* what, auto suits) {
    const auto& all = c.joined.measuring_gauges;
    if (std::none_of(all.begin(), all.end(), [&](const recipe::Gauge& gauge) { return suits(gauge.kind); })) {
      c.warnings.add(c.places.at("measuring_gauges"), std::string("no gauge for ") + what,
                     "one of a kind that measures it");
    }
  };
  wants("diameters (caliper, micrometer)", measures_diameter);
  wants("bore depth (depth_rod)", [](GaugeKind kind) { return kind == GaugeKind::depth_rod; });
  wants("marks (rule, caliper, tape)", [](GaugeKind kind) {
    return kind == GaugeKind::rule || kind == GaugeKind::caliper || kind == GaugeKind::tape;
  });
  wants("straightness (straight_edge)", [](GaugeKind kind) { return kind == GaugeKind::straight_edge; });
  if (c.recipe.passes > 1)
    wants("the turn (protractor)", [](GaugeKind kind) { return kind == GaugeKind::protractor; });
}

/// Usual proof loads are 60 percent of the rope's breaking strength (FAA AC 43.13-1B, paragraphs 7-146 and
/// 7-148, figure read in pages that quote it; MIL-DTL-6117, from memory) or 50 (British practice).
void check_proof(const Check& c) {
  if (!c.recipe.proof || !c.places.all({"proof.load", "proof.hold", "proof.slip_max", "rope"})) return;
  const double breaking_kn = c.joined.rope.minimum_breaking_force_kn;
  const double load_kn = c.recipe.proof->load_kn;
  if (load_kn >= breaking_kn) {
    c.faults.add(c.places.at("proof.load"), kn(load_kn),
                 "less than the breaking force of " + c.recipe.rope + ", " + kn(breaking_kn));
    return;
  }
  if (load_kn > 0.605 * breaking_kn)
    c.warnings.add(c.places.at("proof.load"), kn(load_kn),
                   "at most 60 % of the breaking force of " + c.recipe.rope + ", " + kn(0.6 * breaking_kn) +
                       ": more strains what is to be used");
  const auto& gauges = c.joined.measuring_gauges;
  if (c.places.all({"measuring_gauges"}) &&
      std::none_of(gauges.begin(), gauges.end(),
                   [](const recipe::Gauge& gauge) { return gauge.kind == GaugeKind::load_cell; }))
    c.faults.add(c.places.at("proof.load"), kn(load_kn),
                 "a load_cell among the measuring_gauges: without one no proof load can be recorded, and "
                 "nothing released");
}

}  // namespace

void check_recipe_joined(const Loaded<recipe::Recipe>& loaded, const JoinedRecipe& joined, FaultList& faults,
                         FaultList& warnings) {
  const Check check{loaded.value, loaded.places, joined, faults, warnings};
  check_turn(check);
  check_parts(check);
  check_press(check);
  check_plan(check);
  check_limit_gauges(check);
  check_measuring_gauges(check);
  check_proof(check);
}

}  // namespace shankwright::library
