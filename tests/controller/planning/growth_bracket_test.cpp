#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <sstream>

#include "library/job.hpp"

using namespace shankwright;
using namespace shankwright::planning;

namespace {

std::string dashed(std::string size) {
  for (char& c : size) c = c == '/' ? '-' : c;
  return size;
}

}  // namespace

TEST_CASE("The growth counted on in the handbook sizes lies where the volume of metal puts it") {
  // Dimensions before and after swaging: FAA AC 43.13-1B chapter 7, straight-shank terminal table (values
  // from memory). The shank's metal stays: (D0^2 - d0^2) L0 = (D1^2 - d1^2) L1. Afterwards the bore is as the
  // rope fills it: between the rope's metal (all voids gone) and its full circle. The
  // after-swage diameter is a maximum; two passes a quarter turn apart leave at most a dodecagon of that
  // width, 0.8038 W^2, which is 2.4 % more than the circle (least growth); the circle is the least metal
  // (most growth).
  std::ifstream file(SOURCE_DIR "/tests/reference/straight_shank_terminals.csv");
  REQUIRE(file.good());
  const library::Library library = library::load(SOURCE_DIR "/recipes");
  const Parts parts = library::parts_of(library);
  int seen = 0;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#' || line.starts_with("cable_in")) continue;
    std::istringstream in(line);
    std::string size;
    std::string strands;
    std::string cell;
    std::getline(in, size, ',');
    std::getline(in, strands, ',');
    double value[6];
    for (double& v : value) {
      std::getline(in, cell, ',');
      v = std::stod(cell);
    }
    const double before = value[0];
    const double bore = value[1];
    const double after = value[5];
    const std::string id = "straight-shank-" + dashed(size) + "-" + strands;
    INFO(id);
    const recipe::JoinedRecipe& joined = parts.recipes.at(id);
    const double rope_in = joined.rope.nominal_diameter_mm / 25.4;
    const double metal = joined.rope.metallic_area_factor * rope_in * rope_in;  // in2
    const double quarter_pi = std::atan(1.0);
    const double shank = quarter_pi * (before * before - bore * bore);
    const double outside = quarter_pi * after * after;
    const double least = shank / (0.8038 * after * after - metal) - 1;
    const double most = shank / (outside - quarter_pi * rope_in * rope_in) - 1;
    const double taken = (joined.recipe.growth_fraction.least + joined.recipe.growth_fraction.most) / 2;
    CHECK(taken > least);
    CHECK(taken < most);
    ++seen;
  }
  CHECK(seen == 10);
}
