#include <algorithm>
#include <cmath>

#include "library/checks.hpp"

namespace shankwright::library {
namespace {

std::string kn(double value) {
  return plain(value) + " kN";
}
std::string mm(double value) {
  return plain(value) + " mm";
}

void check_position(const Loaded<recipe::Recipe>& loaded, FaultList& faults) {
  const recipe::Recipe& r = loaded.value;
  const Places& at = loaded.places;
  if (at.all({"position.bore_end_clearance", "position.least_edge"}) &&
      r.least_edge_mm > r.bore_end_clearance_mm) {
    faults.add(at.at("position.least_edge"), mm(r.least_edge_mm),
               "no more than bore_end_clearance, " + mm(r.bore_end_clearance_mm));
  }
}

void check_forces(const Loaded<recipe::Recipe>& loaded, FaultList& faults) {
  const recipe::Recipe& r = loaded.value;
  const Places& at = loaded.places;
  if (at.all({"bite.target_force", "bite.force_limit"}) && r.force_limit_kn <= r.target_force_kn) {
    faults.add(at.at("bite.force_limit"), kn(r.force_limit_kn),
               "more than target_force, " + kn(r.target_force_kn));
  }
  if (at.all({"bite.target_force", "bite.peak_force"}) && !r.peak_force_kn.holds(r.target_force_kn)) {
    faults.add(at.at("bite.peak_force"), kn(r.peak_force_kn.least) + " to " + kn(r.peak_force_kn.most),
               "a band that holds target_force, " + kn(r.target_force_kn));
  }
  if (at.all({"bite.force_limit", "bite.peak_force"}) && r.peak_force_kn.most > r.force_limit_kn) {
    faults.add(at.at("bite.peak_force.most"), kn(r.peak_force_kn.most),
               "no more than force_limit, " + kn(r.force_limit_kn));
  }
  if (at.all({"bite.dwell", "bite.stroke_timeout"}) && r.dwell_ms >= r.stroke_timeout_ms) {
    faults.add(at.at("bite.stroke_timeout"), plain(r.stroke_timeout_ms) + " ms",
               "more than dwell, " + plain(r.dwell_ms) + " ms");
  }
}

void check_envelope(const Loaded<recipe::Recipe>& loaded, FaultList& faults) {
  const recipe::Recipe& r = loaded.value;
  const Places& at = loaded.places;
  if (at.all({"bite.envelope", "turn.passes"}) && r.envelope.size() != static_cast<std::size_t>(r.passes)) {
    faults.add(at.at("bite.envelope"), "a list of " + std::to_string(r.envelope.size()),
               "one entry for each of the " + std::to_string(r.passes) + " passes");
  }
  for (std::size_t pass = 0; pass < r.envelope.size(); ++pass) {
    for (std::size_t i = 0; i < r.envelope[pass].size(); ++i) {
      const recipe::ForceAtGap& force = r.envelope[pass][i];
      const std::string path = "bite.envelope[" + std::to_string(pass) + "].force[" + std::to_string(i) + "]";
      if (at.all({path + ".gap", "bite.closed_gap"}) && force.gap_mm <= r.closed_gap_mm) {
        faults.add(at.at(path + ".gap"), mm(force.gap_mm),
                   "more than closed_gap, " + mm(r.closed_gap_mm) +
                       ": at that gap the dies already count as closed");
      }
      if (at.all({path + ".most", "bite.target_force"}) && force.force_kn.most > r.target_force_kn) {
        faults.add(at.at(path + ".most"), kn(force.force_kn.most),
                   "no more than target_force, " + kn(r.target_force_kn) + ": the press stops there");
      }
    }
  }
}

void check_growth(const Loaded<recipe::Recipe>& loaded, FaultList& faults) {
  const recipe::Recipe& r = loaded.value;
  const Places& at = loaded.places;
  if (at.all({"gauging.growth", "gauging.growth_second_pass_least"}) &&
      r.growth_second_pass_least > r.growth_fraction.most) {
    faults.add(at.at("gauging.growth_second_pass_least"), plain(100 * r.growth_second_pass_least) + " %",
               "no more than the most growth of all passes, " + plain(100 * r.growth_fraction.most) + " %");
  }
}

}  // namespace

void check_recipe_alone(const Loaded<recipe::Recipe>& loaded, FaultList& faults) {
  check_position(loaded, faults);
  check_forces(loaded, faults);
  check_envelope(loaded, faults);
  check_growth(loaded, faults);
}

}  // namespace shankwright::library
