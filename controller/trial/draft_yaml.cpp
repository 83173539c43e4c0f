#include <fmt/format.h>

#include <cmath>
#include <sstream>

#include "trial/draft.hpp"

namespace shankwright::trial {
namespace {

/// Shortest text of a value, without the last bits that a change of unit leaves behind.
std::string number(double value) {
  return fmt::format("{}", std::round(value * 1e6) / 1e6);
}
std::string mm(double value) {
  return number(value) + " mm";
}
std::string kn(double value) {
  return number(value) + " kN";
}
std::string duration(double ms) {
  return ms >= 1000 && std::fmod(ms, 1000) == 0 ? number(ms / 1000) + " s" : number(ms) + " ms";
}
std::string percent(double fraction) {
  return number(100 * fraction) + " %";
}

/// Folded text in lines of a readable length.
std::string folded(const std::string& text) {
  std::istringstream words(text);
  std::string out = ">-\n ", word;
  std::size_t column = 1;
  while (words >> word) {
    if (column > 1 && column + word.size() > 105) {
      out += "\n ";
      column = 1;
    }
    out += " " + word;
    column += word.size() + 1;
  }
  return out;
}

const char* word_of(recipe::Status status) {
  switch (status) {
    case recipe::Status::draft:
      return "draft";
    case recipe::Status::released:
      return "released";
    case recipe::Status::withdrawn:
      return "withdrawn";
  }
  return "";
}

}  // namespace

std::string to_yaml(const recipe::Recipe& r) {
  std::string out =
      "# Shankwright is not a safety function. The terminal and rope makers' instructions, local codes and a "
      "competent\n"
      "# person come first.\n";
  const auto line = [&out](int depth, const std::string& key, const std::string& value) {
    out += fmt::format("{:{}}{}:{}{}\n", "", 2 * depth, key, value.empty() ? "" : " ", value);
  };
  line(0, "id", r.id);
  line(0, "revision", std::to_string(r.revision));
  line(0, "status", word_of(r.status));
  line(0, "family", r.family);
  line(0, "source", folded(r.source));
  out += '\n';
  line(0, "rope", r.rope);
  line(0, "terminal", r.terminal);
  line(0, "die_pair", r.die_pair);
  line(0, "press", r.press);
  line(0, "go_gauge", r.go_gauge);
  line(0, "no_go_gauge", r.no_go_gauge);
  line(0, "measuring_gauges", fmt::format("[{}]", fmt::join(r.measuring_gauges, ", ")));
  out += "\npreparation:\n";
  line(1, "rope_diameter_readings", std::to_string(r.rope_diameter_readings));
  line(1, "mark_tolerance", mm(r.mark_tolerance_mm));
  line(1, "insertion_tolerance", mm(r.insertion_tolerance_mm));
  out += "\nposition:\n";
  line(1, "bore_end_clearance", mm(r.bore_end_clearance_mm));
  line(1, "tolerance", mm(r.position_tolerance_mm));
  line(1, "least_edge", mm(r.least_edge_mm));
  line(1, "least_overlap", mm(r.least_overlap_mm));
  out += "\nturn:\n";
  line(1, "passes", std::to_string(r.passes));
  line(1, "angle", number(r.turn_deg) + " deg");
  line(1, "tolerance", number(r.turn_tolerance_deg) + " deg");
  line(1, "least_flat_offset", number(r.least_flat_offset_deg) + " deg");
  out += "\nbite:\n";
  line(1, "target_force", kn(r.target_force_kn));
  line(1, "force_limit", kn(r.force_limit_kn));
  line(1, "dwell", number(r.dwell_ms) + " ms");
  line(1, "closed_gap", mm(r.closed_gap_mm));
  line(1, "stroke_timeout", duration(r.stroke_timeout_ms));
  line(1, "permit_life", duration(r.permit_life_ms));
  line(1, "repeats_max", std::to_string(r.repeat_bites_max));
  line(1, "peak_force",
       fmt::format("{{least: {}, most: {}}}", kn(r.peak_force_kn.least), kn(r.peak_force_kn.most)));
  out += "  # Force while the dies close, for a whole die length of fresh shank.\n  envelope:\n";
  for (std::size_t p = 0; p < r.envelope.size(); ++p) {
    out += fmt::format("    - pass: {}\n      force:\n", p + 1);
    for (const auto& at : r.envelope[p])
      out += fmt::format("        - {{gap: {}, least: {}, most: {}}}\n", mm(at.gap_mm), kn(at.force_kn.least),
                         kn(at.force_kn.most));
  }
  out += "\ngauging:\n";
  line(1, "across_flats",
       fmt::format("{{least: {}, most: {}}}", mm(r.across_flats_mm.least), mm(r.across_flats_mm.most)));
  line(1, "stations", std::to_string(r.across_flats_stations));
  line(1, "growth",
       fmt::format("{{least: {}, most: {}}}", percent(r.growth_fraction.least),
                   percent(r.growth_fraction.most)));
  line(1, "growth_second_pass_least", percent(r.growth_second_pass_least));
  line(1, "straightness_max", mm(r.straightness_mm_max));
  line(1, "slip_max", mm(r.slip_mm_max));
  line(1, "re_presses_max", std::to_string(r.re_presses_max));
  return out;
}

}  // namespace shankwright::trial
