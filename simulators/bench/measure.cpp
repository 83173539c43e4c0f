#include <algorithm>
#include <cmath>

#include "simulators/bench/bench.hpp"

/// Instruments on the true part. Standard uncertainty u = U/2: half its variance is a bias that the
/// instrument keeps for life, half scatters from reading to reading.
namespace shankwright::bench {

namespace {

using recipe::GaugeKind;

constexpr int readings_most = 20;
constexpr double gauge_edge_mm = 1.0;  // a limit gauge does not find the tapered edge of the first die print
constexpr double gauge_scatter_mm = 0.001;  // how a hand feels a gap gauge
constexpr double sliver_mm = 0.3;           // shorter lengths between two die prints carry no gauge

double stepped(double value, double resolution) {
  return resolution > 0 ? std::round(value / resolution) * resolution : value;
}

std::uint64_t hash(const std::string& text) {
  std::uint64_t value = 0xCBF29CE484222325u;
  for (const char c : text) value = (value ^ static_cast<unsigned char>(c)) * 0x100000001B3u;
  return value;
}

bool can_read(const std::string& kind, GaugeKind gauge) {
  const auto one_of = [gauge](std::initializer_list<GaugeKind> kinds) {
    return std::find(kinds.begin(), kinds.end(), gauge) != kinds.end();
  };
  if (kind == "rope_diameter" || kind == "shank_diameter" || kind == "across_flats")
    return one_of({GaugeKind::caliper, GaugeKind::micrometer});
  if (kind == "bore_depth") return one_of({GaugeKind::depth_rod, GaugeKind::caliper});
  if (kind == "turn" || kind == "reseated") return gauge == GaugeKind::protractor;
  if (kind == "straightness") return gauge == GaugeKind::straight_edge;
  if (kind == "go_gauge") return gauge == GaugeKind::go_gap;
  if (kind == "no_go_gauge") return gauge == GaugeKind::no_go_gap;
  return one_of({GaugeKind::rule, GaugeKind::caliper, GaugeKind::tape, GaugeKind::depth_rod});
}

const char* text_of(plant::SurfaceTruth surface) {
  switch (surface) {
    case plant::SurfaceTruth::sound:
      return "sound";
    case plant::SurfaceTruth::cracked:
      return "cracked";
    case plant::SurfaceTruth::lapped:
      return "lapped";
    case plant::SurfaceTruth::wires_broken:
      return "wires_broken";
  }
  return "sound";
}

/// Angle folded to -5 <= a < 355, so that a zero read a little low is not 359.7.
double folded(double angle) {
  double rest = std::fmod(angle, 360);
  if (rest < -5) rest += 360;
  if (rest >= 355) rest -= 360;
  return rest;
}

}  // namespace

double Bench::read(double truth, const recipe::Gauge& gauge) {
  const double part = gauge.expanded_uncertainty_mm / 2 * std::sqrt(0.5);
  const double bias = plant::Random(seed_ ^ hash(gauge.id)).normal(0, part);
  const double value = stepped(truth + bias + random_.normal(0, part), gauge.resolution_mm);
  note(value);
  return value;
}

Result<double> Bench::truth_of(const std::string& kind) {
  const auto wanting = [](const char* what, const char* first) { return Problem{"", what, first}; };
  const auto or_problem = [&](const std::optional<double>& value, const char* what,
                              const char* first) -> Result<double> {
    if (value) return *value;
    return wanting(what, first);
  };
  const plant::Part& part = *part_;
  if (kind == "rope_diameter") {
    if (rope_choice_ == RopeChoice::none) return wanting("no rope", "a rope to measure");
    return part.rope().diameter_mm *
           (1 + random_.normal(0, 0.001));  // a rope is not round: each place differs
  }
  if (kind == "shank_diameter") {
    if (part.bitten()) return wanting("a shank already pressed", "a round shank");
    return part.diameter_mm(random_.uniform(0, 180));
  }
  if (kind == "bore_depth") {
    if (part.rope_in()) return wanting("a rope in the bore", "an empty bore");
    return part.mouth_mm();
  }
  if (kind == "depth_mark")
    return or_problem(part.depth_mark_mm(), "no depth mark", "a depth mark on the rope");
  if (kind == "boundary_mark" || kind == "growth")
    return or_problem(part.boundary_to_mouth_mm(), "no boundary mark", "a boundary mark on the shank");
  if (kind == "insertion" || kind == "slip")
    return or_problem(part.depth_mark_to_mouth_mm(), "no depth mark at the mouth",
                      "a marked rope in the bore");
  if (kind == "position") {
    if (!in_dies_) return wanting("no shank in the dies", "the shank positioned first");
    return edge_mm_ - part.boundary_mark_mm().value_or(0);
  }
  if (kind == "turn" || kind == "reseated") {
    if (!in_dies_ || !flats_angle_deg_) return wanting("no shank in the dies", "the shank positioned first");
    if (kind == "turn") {
      turned_to_deg_ = angle_deg_;
      return folded(angle_deg_ - *flats_angle_deg_);
    }
    return folded(angle_deg_ - turned_to_deg_.value_or(*flats_angle_deg_));
  }
  if (kind == "straightness") return part.straightness_mm();
  return wanting(
      kind.c_str(),
      "rope_diameter, shank_diameter, bore_depth, depth_mark, boundary_mark, insertion, position, "
      "turn, reseated, across_flats, growth, straightness, slip, surface, go_gauge or no_go_gauge");
}

Result<Evidence> Bench::read_values(const std::string& kind, const recipe::Gauge& gauge, int readings) {
  Evidence evidence;
  for (int i = 0; i < readings; ++i) {
    const Result<double> truth = truth_of(kind);
    if (!truth) return truth.problem();
    double value = read(truth.value(), gauge);
    if (kind == "straightness")
      value = std::max(0.0, value);  // a feeler under a straight edge has no negative sizes
    evidence.values.push_back(value);
  }
  return evidence;
}

Evidence Bench::across_flats(const recipe::Gauge& gauge, int stations) {
  Evidence evidence;
  const auto extent = part_->swaged().value_or(plant::Part::Extent{0, part_->mouth_mm()});
  for (int i = 0; i < stations; ++i) {
    const double at = extent.from_mm + (extent.to_mm - extent.from_mm) * (i + 0.5) / stations;
    std::array<double, 3> pairs{};
    for (int pair = 0; pair < 3; ++pair)
      pairs[static_cast<std::size_t>(pair)] = read(part_->width_mm(at, pair), gauge);
    evidence.stations_mm.push_back(pairs);
  }
  return evidence;
}

Result<Evidence> Bench::limit_gauge(const std::string& kind, const recipe::Gauge& gauge) {
  if (!gauge.size_mm) return Problem{"", "a limit gauge without a size", "a gauge with its size"};
  // The gauge is moved along from the first die print to the mouth, over all three pairs. A go gap has to
  // pass everywhere; a no-go gap must not pass anywhere.
  const double from = part_->swaged() ? part_->swaged()->from_mm + gauge_edge_mm : 0;
  double least = 1e9, most = 0, place = 0;
  for (const auto& slice : part_->slices()) {
    if (!slice.bore) continue;
    const double length = slice.length_mm * (1 + slice.growth);
    const double middle = place + length / 2;
    place += length;
    if (place <= from || length < sliver_mm) continue;
    for (int pair = 0; pair < 3; ++pair) {
      const double width = part_->width_mm(std::max(middle, std::min(from, place - 0.01)), pair);
      least = std::min(least, width);
      most = std::max(most, width);
    }
  }
  const double gap = *gauge.size_mm + random_.normal(0, gauge_scatter_mm);
  Evidence evidence;
  evidence.result = (kind == "go_gauge" ? most : least) < gap ? "passes" : "stops";
  note(gap);
  return evidence;
}

Result<Evidence> Bench::measure(const std::string& kind, const recipe::Gauge* gauge, int readings) {
  if (!part_) return Problem{"", "no part on the bench", "a part taken first"};
  if (readings < 1 || readings > readings_most)
    return Problem{"", std::to_string(readings) + " readings", "1 to 20 readings"};
  const auto finish = [&](Result<Evidence> found) -> Result<Evidence> {
    if (!found) return found;
    Evidence evidence = found.value();
    evidence.kind = kind;
    evidence.gauge = gauge != nullptr ? gauge->id : "";
    return evidence;
  };
  if (kind == "surface") {
    Evidence evidence;
    evidence.result = text_of(part_->surface());
    return finish(evidence);
  }
  if (gauge == nullptr) return Problem{"", "no gauge", "the id of a gauge"};
  if (!can_read(kind, gauge->kind)) return Problem{"", gauge->id, "a gauge of a kind that can read " + kind};
  if (kind == "across_flats") return finish(across_flats(*gauge, readings));
  if (kind == "go_gauge" || kind == "no_go_gauge") return finish(limit_gauge(kind, *gauge));
  return finish(read_values(kind, *gauge, readings));
}

}  // namespace shankwright::bench
