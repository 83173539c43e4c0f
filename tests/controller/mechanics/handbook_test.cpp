#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "mechanics/squeeze.hpp"

using namespace shankwright::mechanics;

namespace {

constexpr double inch_mm = 25.4;

struct Row {
  std::string rope;
  std::string construction;
  double shank_mm = 0, bore_mm = 0, after_mm = 0, rope_mm = 0, bore_length_mm = 0, swage_length_mm = 0;
};

double inches(const std::string& text) {
  const auto slash = text.find('/');
  return slash == std::string::npos ? std::stod(text)
                                    : std::stod(text.substr(0, slash)) / std::stod(text.substr(slash + 1));
}

/// FAA AC 43.13-1B (9/8/98) chapter 7, straight-shank terminal table, values from memory
/// (tests/reference/straight_shank_terminals.csv).
std::vector<Row> rows() {
  std::ifstream file(SOURCE_DIR "/tests/reference/straight_shank_terminals.csv");
  std::vector<Row> out;
  std::string line;
  while (std::getline(file, line)) {
    if (line.empty() || line[0] == '#' || line.rfind("cable_in", 0) == 0) continue;
    std::stringstream text(line);
    std::vector<std::string> cells;
    for (std::string cell; std::getline(text, cell, ',');) cells.push_back(cell);
    out.push_back({cells[0], cells[1], std::stod(cells[2]) * inch_mm, std::stod(cells[3]) * inch_mm,
                   std::stod(cells[7]) * inch_mm, inches(cells[0]) * inch_mm, std::stod(cells[4]) * inch_mm,
                   std::stod(cells[5]) * inch_mm});
  }
  return out;
}

double metal_area_factor(const std::string& construction) {
  return construction == "7x7" ? 0.432 : 0.418;
}

}  // namespace

// The table gives diameters before and after swaging. The metal squeezed away can only go into the bore's
// void and into length: volume alone brackets the growth between a bore closed to solid rope metal and one
// that only just meets the rope.
TEST_CASE("Volume conservation gives every row of the handbook's terminal table a credible growth",
          "[mechanics][reference]") {
  const auto table = rows();
  REQUIRE(table.size() == 10);
  for (const Row& row : table) {
    INFO(row.rope);
    const double circle = std::numbers::pi / 4;
    const double metal = circle * (row.shank_mm * row.shank_mm - row.bore_mm * row.bore_mm);
    const double after = circle * row.after_mm * row.after_mm;
    const double solid_rope = metal_area_factor(row.construction) * row.rope_mm * row.rope_mm;
    const double loose_rope = circle * row.rope_mm * row.rope_mm;
    const double least = metal / (after - solid_rope) - 1;
    const double most = metal / (after - loose_rope) - 1;
    CHECK(most > 0);  // the shank must lengthen at least where the bore stops at the rope
    CHECK(least > -0.25);
    CHECK(most < 0.60);
    // Swaged in a round die of the table's after-swage diameter, the model's growth lies in the bracket.
    SqueezeInput input;
    input.section.shank_diameter_mm = row.shank_mm;
    input.section.bore_mm = row.bore_mm;
    input.section.rope = RopeCore{metal_area_factor(row.construction), row.rope_mm};
    input.die = {DieShape::round, row.after_mm};
    input.fineness = Fineness::coarse;
    const auto course = squeeze(input, {});
    REQUIRE(course.ok());
    const double growth = course.value().after.back().growth;
    INFO("growth " << growth << ", volume alone " << least << " to " << most);
    CHECK(growth > least);
    CHECK(growth < most + 0.02);
    CHECK(growth > 0.05);
    CHECK(growth < 0.35);
  }
}

// Common practice, no source: a 5 mm terminal is within a 150 tonne press's reach with wide margin.
TEST_CASE("A 5 mm terminal of dense 1x19 is within a 150 tonne press's reach with wide margin",
          "[mechanics]") {
  SqueezeInput input;
  input.section.shank_diameter_mm = 9.12;
  input.section.bore_mm = 5.2;
  input.section.rope = RopeCore{0.597, 5.0, 1.0};  // gripped: the hardest case
  input.section.friction = 0.14;
  input.die.across_flats_mm = 7.9;
  const auto course = squeeze(input, {});
  REQUIRE(course.ok());
  double hardest = 0;
  for (const PassResult& pass : course.value().after)
    hardest = std::max(hardest, pass.closing_force_n_per_mm);
  const double die_length_mm = 35;
  CHECK(hardest * die_length_mm / 1000 < 0.5 * 1471);  // 150 t-force = 1471 kN
}
