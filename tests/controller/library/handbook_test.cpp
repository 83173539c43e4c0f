#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <sstream>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;

namespace {

/// Rows of a table in tests/reference by column name; lines that begin with '#' tell the source.
std::vector<std::map<std::string, std::string>> table(const std::string& name) {
  std::ifstream file(SOURCE_DIR "/tests/reference/" + name);
  REQUIRE(file.good());
  std::vector<std::map<std::string, std::string>> out;
  std::vector<std::string> columns;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> cells;
    std::istringstream in(line);
    for (std::string cell; std::getline(in, cell, ',');) cells.push_back(cell);
    if (columns.empty()) {
      columns = cells;
      continue;
    }
    auto& row = out.emplace_back();
    for (std::size_t i = 0; i < columns.size() && i < cells.size(); ++i) row[columns[i]] = cells[i];
  }
  return out;
}

std::string dashed(std::string size) {
  for (char& c : size) c = c == '/' ? '-' : c;
  return size;
}

double inches(double mm) {
  return mm / 25.4;
}

}  // namespace

TEST_CASE("The ten inch sizes are those of the handbook's straight-shank terminal table") {
  // FAA AC 43.13-1B (9/8/98) chapter 7, par. 7-148, straight-shank terminal table: values from memory, page
  // not seen.
  const Library library = load(SOURCE_DIR "/recipes");
  const auto rows = table("straight_shank_terminals.csv");
  REQUIRE(rows.size() == 10);
  for (const auto& row : rows) {
    const std::string id = "straight-shank-" + dashed(row.at("cable_in")) + "-" + row.at("strands");
    INFO(id);
    const auto joined = join(library, id);
    REQUIRE(joined.ok());
    const recipe::JoinedRecipe& j = joined.value();
    const auto value = [&](const char* column) { return std::stod(row.at(column)); };
    constexpr double last_digit = 0.0005;  // the table gives thousandths of an inch
    CHECK(inches((j.terminal.shank_diameter_mm.least + j.terminal.shank_diameter_mm.most) / 2) ==
          Approx(value("od_before")).margin(last_digit));
    CHECK(j.terminal.shank_diameter_mm.holds(value("od_before") * 25.4));
    CHECK(inches(j.terminal.bore_diameter_mm) == Approx(value("bore_dia")).margin(last_digit));
    CHECK(inches((j.terminal.bore_depth_mm.least + j.terminal.bore_depth_mm.most) / 2) ==
          Approx(value("bore_length")).margin(last_digit));
    CHECK(inches(j.terminal.swage_length_mm) == Approx(value("swaging_length")).margin(last_digit));
    // The after-swage diameter is a maximum: it is the go size.
    REQUIRE(j.go_gauge.size_mm);
    CHECK(inches(*j.go_gauge.size_mm) == Approx(value("od_after")).margin(last_digit));
    CHECK(inches(j.recipe.across_flats_mm.most) == Approx(value("od_after")).margin(last_digit));
    CHECK(j.recipe.status == recipe::Status::released);
    CHECK_THAT(j.terminal.source, Catch::Contains("from memory"));
    const auto [over, under] = [&] {
      const std::string size = row.at("cable_in");
      const std::size_t stroke = size.find('/');
      return std::pair(std::stod(size.substr(0, stroke)), std::stod(size.substr(stroke + 1)));
    }();
    CHECK(inches(j.rope.nominal_diameter_mm) == Approx(over / under).epsilon(1e-9));
  }
}

TEST_CASE("Rope strengths are the handbook's for corrosion-resistant steel") {
  // FAA AC 43.13-1B (9/8/98) table 7-3, column "comp B (CRES)", pounds-force: read.
  const Library library = load(SOURCE_DIR "/recipes");
  int seen = 0;
  for (const auto& row : table("aircraft_cable_strength.csv")) {
    const auto rope =
        library.ropes.find("rope-" + dashed(row.at("diameter_in")) + "-" + row.at("construction"));
    if (rope == library.ropes.end()) continue;
    INFO(rope->first);
    ++seen;
    CHECK(rope->second.minimum_breaking_force_kn * 1000 / 4.4482216152605 ==
          Approx(std::stod(row.at("comp_b_cres_lbf"))).epsilon(1e-6));
  }
  CHECK(seen == 10);
}
