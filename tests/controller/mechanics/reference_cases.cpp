#include "reference_cases.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>

namespace reference {
namespace {

using namespace shankwright::mechanics;

void read(const std::string& file, std::vector<Case>& cases) {
  std::ifstream text(file);
  if (!text) throw std::runtime_error("cannot read " + file);
  std::string line;
  while (std::getline(text, line)) {
    if (line.empty() || line[0] == '#' || line.rfind("case,", 0) == 0) continue;
    std::vector<std::string> cells;
    std::stringstream row(line);
    for (std::string cell; std::getline(row, cell, ',');) cells.push_back(cell);
    const auto number = [&](std::size_t i) {
      return i < cells.size() && !cells[i].empty() ? std::stod(cells[i]) : 0.;
    };
    if (cases.empty() || cases.back().name != cells.at(0)) {
      Case one;
      one.name = cells[0];
      SectionInput& section = one.input.section;
      section.shank_diameter_mm = number(1);
      section.bore_mm = number(2);
      if (number(3) > 0) section.rope = RopeCore{number(3), number(4), number(16)};
      one.input.die = {cells.at(5) == "round" ? DieShape::round : DieShape::hexagon, number(6)};
      section.friction = number(7);
      section.axial_force_n = number(8);
      if (number(13) > 0) {
        section.flow.strength_mpa = number(13);
        section.flow.hardening = number(14);
        section.flow.yield_mpa = number(15);
      }
      one.input.passes = 1;
      cases.push_back(one);
    }
    Case& one = cases.back();
    Point point;
    point.pass = static_cast<int>(number(9));
    point.open = cells.at(10) == "open";
    point.gap_mm = point.open ? 0 : number(10);
    point.force_n_per_mm = number(11);
    point.growth = number(12);
    point.base_width_mm = number(17);
    point.side_width_mm = number(18);
    one.input.passes = std::max(one.input.passes, point.pass);
    one.points.push_back(point);
  }
}

void worse(double& worst, double error) {
  if (std::abs(error) > std::abs(worst)) worst = error;
}

}  // namespace

std::vector<Case> cases() {
  std::vector<Case> out;
  read(SOURCE_DIR "/tests/reference/fem_points.csv", out);
  read(SOURCE_DIR "/tests/reference/fem_points_more.csv", out);
  return out;
}

Error error_of(const Case& one) {
  std::vector<double> gaps;
  for (const Point& point : one.points)
    if (!point.open) gaps.push_back(point.gap_mm);
  const SqueezeCourse course = squeeze(one.input, gaps).value();
  Error worst;
  for (const Point& point : one.points) {
    if (point.open) {
      const PassResult& after = course.after.at(static_cast<std::size_t>(point.pass - 1));
      worse(worst.growth, after.growth - point.growth);
      if (point.base_width_mm > 0) {
        worse(worst.width_mm, after.base_width_mm - point.base_width_mm);
        worse(worst.width_mm, after.side_width_mm - point.side_width_mm);
      }
      continue;
    }
    for (const SqueezePoint& own : course.points) {
      if (own.pass != point.pass || std::abs(own.gap_mm - point.gap_mm) > 1e-9) continue;
      const double force = own.force_n_per_mm / point.force_n_per_mm - 1;
      worse(point.gap_mm > 0.5 ? worst.force_early : worst.force, force);
      if (point.gap_mm <= 0.5) worse(worst.growth, own.growth - point.growth);
    }
  }
  return worst;
}

}  // namespace reference
