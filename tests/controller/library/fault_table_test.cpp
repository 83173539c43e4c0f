#include <catch2/catch.hpp>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

const std::string terminal =
    "id: t-1\n"
    "shank_diameter: {least: 9.07 mm, most: 9.17 mm}\n"
    "bore_diameter: 0.203 in\n"
    "bore_depth: {least: 50.8 mm, most: 51.3 mm}\n"
    "swage_length: 49.2 mm\n"
    "material: steel\n"
    "source: demo data\n";
const std::string rope =
    "id: r-1\n"
    "construction: 7x19\n"
    "nominal_diameter: 3/16 in\n"
    "diameter: {least: 4.76 mm, most: 4.95 mm}\n"
    "metallic_area_factor: 0.418\n"
    "minimum_breaking_force: 3700 lbf\n"
    "material: steel\n"
    "source: demo data\n";
const std::string die =
    "id: d-1\n"
    "tag: 7\n"
    "shape: hexagon\n"
    "across_flats: 7.78 mm\n"
    "length: 33 mm\n"
    "rated_force: 450 kN\n"
    "life_strokes: 20000\n"
    "source: demo data\n";
const std::string press =
    "id: p-1\n"
    "ram_area: 210 cm2\n"
    "pressure_max: 705 bar\n"
    "capacity: 150 tonnef\n"
    "profile: reference\n"
    "require_shank_sensor: false\n"
    "source: demo data\n";
const std::string caliper =
    "id: g-1\n"
    "kind: caliper\n"
    "resolution: 0.01 mm\n"
    "expanded_uncertainty: 0.03 mm\n"
    "source: demo data\n";

struct Expected {
  std::string place, found, expected;  ///< line:column; what the texts contain
};
struct Row {
  FileKind kind;
  std::string whole, from, to;
  std::vector<Expected> faults;
};

std::string replaced(std::string whole, const std::string& from, const std::string& to) {
  const std::size_t at = whole.find(from);
  if (at == std::string::npos) throw std::logic_error("no \"" + from + "\"");
  return whole.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("The files that the faults are put into have none of their own") {
  CHECK(faults_of(FileKind::terminal, terminal).empty());
  CHECK(faults_of(FileKind::rope, rope).empty());
  CHECK(faults_of(FileKind::die_pair, die).empty());
  CHECK(faults_of(FileKind::press, press).empty());
  CHECK(faults_of(FileKind::gauge, caliper).empty());
}

TEST_CASE("A breaking force within a rounding of what grade and factor give is taken") {
  // 12.89 kN by the factor; a table that rounds to 12.9 kN, or to 12.8 kN, is still the same rope.
  const std::string graded =
      replaced(rope, "material:", "rope_grade: 1570 MPa\nbreaking_force_factor: 0.362\nmaterial:");
  CHECK(faults_of(FileKind::rope, replaced(graded, "3700 lbf", "12.9 kN")).empty());
  CHECK(faults_of(FileKind::rope, replaced(graded, "3700 lbf", "12.8 kN")).empty());
  CHECK(faults_of(FileKind::rope, replaced(graded, "3700 lbf", "13.1 kN")).size() == 1);
  // With one of the two alone there is nothing to hold it against.
  CHECK(faults_of(FileKind::rope, replaced(rope, "material:", "rope_grade: 1570 MPa\nmaterial:")).empty());
}

TEST_CASE("Each slip is one fault, at its line and column, with what is expected") {
  const std::vector<Row> rows{
      // keys
      {FileKind::terminal,
       terminal,
       "bore_diameter:",
       "bore_diametre:",
       {{"3:1", "unknown key \"bore_diametre\"", "the nearest is \"bore_diameter\""}}},
      {FileKind::terminal,
       terminal,
       "bore_diameter: 0.203 in\n",
       "",
       {{"1:1", "no key \"bore_diameter\"", "a length from 0.5 mm to 60 mm"}}},
      {FileKind::terminal,
       terminal,
       "material:",
       "colour: red\nmaterial:",
       {{"6:1", "unknown key \"colour\"", "one of id, shank_diameter"}}},
      {FileKind::terminal,
       terminal,
       "source:",
       "bore_diameter: 5 mm\nsource:",
       {{"7:1", "key \"bore_diameter\" a second time", "stands first at f:3:1"}}},
      {FileKind::terminal,
       terminal,
       "least: 9.07 mm",
       "leest: 9.07 mm",
       {{"2:18", "unknown key \"leest\"", "\"least\""}}},
      {FileKind::terminal,
       terminal,
       "least: 9.07 mm",
       "least: 9.07 mm, least: 9 mm",
       {{"2:34", "key \"least\" a second time", "stands first at f:2:18"}}},
      {FileKind::terminal, terminal, "material: steel", "material:", {{"6:1", "nothing", "a text"}}},
      {FileKind::terminal, terminal, "material: steel", "material: [a, b]", {{"6:11", "a list", "a text"}}},
      {FileKind::terminal,
       terminal,
       "{least: 9.07 mm, most: 9.17 mm}",
       "9.12 mm",
       {{"2:17", "9.12 mm", "a map of keys and values"}}},
      {FileKind::terminal, terminal, "id: t-1", "id: T 1", {{"1:5", "T 1", "small letters"}}},
      // quantities
      {FileKind::terminal, terminal, "0.203 in", "0.203", {{"3:16", "0.203", "a length with its unit"}}},
      {FileKind::terminal, terminal, "0.203 in", "\"0.203\"", {{"3:16", "0.203", "a length with its unit"}}},
      {FileKind::terminal,
       terminal,
       "0.203 in",
       "0.203 bar",
       {{"3:16", "0.203 bar", "belongs to a pressure"}}},
      {FileKind::terminal,
       terminal,
       "0.203 in",
       "0.203 inch",
       {{"3:16", "0.203 inch", "mm, cm, m, um, in, mil"}}},
      {FileKind::terminal, terminal, "0.203 in", "5,16 mm", {{"3:16", "5,16 mm", "decimal point"}}},
      {FileKind::terminal, terminal, "0.203 in", ".inf mm", {{"3:16", ".inf mm", "a length in"}}},
      {FileKind::terminal, terminal, "0.203 in", "{a: 1}", {{"3:16", "a map", "a length"}}},
      {FileKind::terminal, terminal, "0.203 in", "203 in", {{"3:16", "203 in", "from 0.5 mm to 60 mm"}}},
      {FileKind::terminal, terminal, "0.203 in", "-5 mm", {{"3:16", "-5 mm", "from 0.5 mm to 60 mm"}}},
      // what came later: grade, factor, modulus, end
      {FileKind::rope,
       rope,
       "material:",
       "rope_grade: 1570 MPa\nbreaking_force_factor: 0.362\nmaterial:",
       {{"6:25", "3700 lbf", "times breaking_force_factor, 12.89 kN, within 1 %"}}},
      {FileKind::rope,
       rope,
       "material:",
       "elastic_modulus: 102\nmaterial:",
       {{"7:18", "102", "a stress with its unit"}}},
      {FileKind::rope,
       rope,
       "material:",
       "elastic_modulus: 102 MPa\nmaterial:",
       {{"7:18", "102 MPa", "a stress from 20000 MPa to 220000 MPa"}}},
      {FileKind::rope,
       rope,
       "material:",
       "mass_factor: 38.1\nmaterial:",
       {{"7:14", "38.1", "from 0.1 to 0.8"}}},
      {FileKind::terminal,
       terminal,
       "material:",
       "end: hook\nmaterial:",
       {{"6:6", "hook", "one of eye, fork, stud, ball, stop"}}},
      {FileKind::terminal,
       terminal,
       "material:",
       "pin_to_bore_end: 32 mm\nmaterial:",
       {{"6:18", "32 mm", "a map of keys and values"}}},
      // limits of a terminal
      {FileKind::terminal,
       terminal,
       "least: 9.07 mm",
       "least: 9.20 mm",
       {{"2:25", "9.20 mm", "no more than \"most\""}}},
      {FileKind::terminal,
       terminal,
       "0.203 in",
       "9.1 mm",
       {{"3:16", "9.1 mm", "less than the least shank diameter, 9.07 mm"}}},
      {FileKind::terminal,
       terminal,
       "swage_length: 49.2 mm",
       "swage_length: 51 mm",
       {{"5:15", "51 mm", "no more than the least bore depth, 50.8 mm"}}},
      // rope
      {FileKind::rope,
       rope,
       "7x19\n",
       "7x91\n",
       {{"2:15", "7x91", "one of 1x19, 7x7, 7x19; the nearest is \"7x19\""}}},
      {FileKind::rope, rope, "0.418", "0.418 mm", {{"5:23", "0.418 mm", "a number without unit"}}},
      {FileKind::rope, rope, "0.418", "nan", {{"5:23", "nan", "a number without unit"}}},
      {FileKind::rope, rope, "3700 lbf", "3700 kN", {{"6:25", "3700 kN", "from 0.1 kN to 2000 kN"}}},
      {FileKind::rope, rope, "3700 lbf", "370 kN", {{"6:25", "370 kN", "400 to 3000 MPa"}}},
      {FileKind::rope,
       rope,
       "{least: 4.76 mm, most: 4.95 mm}",
       "{least: 3.76 mm, most: 4.95 mm}",
       {{"4:11", "3.76 to 4.95 mm", "within 90 to 120 %"}}},
      // die pair
      {FileKind::die_pair, die, "tag: 7", "tag: 0", {{"2:6", "0", "from 1 to 65535"}}},
      {FileKind::die_pair, die, "tag: 7", "tag: 65536", {{"2:6", "65536", "from 1 to 65535"}}},
      {FileKind::die_pair, die, "tag: 7", "tag: 7.0", {{"2:6", "7.0", "a whole number"}}},
      {FileKind::die_pair, die, "hexagon", "hexagonal", {{"3:8", "hexagonal", "the nearest is \"hexagon\""}}},
      // press
      {FileKind::press,
       press,
       "150 tonnef",
       "160 tonnef",
       {{"4:11", "160 tonnef", "no more than ram area times greatest pressure, 1480.5 kN"}}},
      {FileKind::press, press, "false", "no", {{"6:23", "no", "true or false"}}},
      // gauge
      {FileKind::gauge,
       caliper,
       "kind: caliper",
       "kind: calliper",
       {{"2:7", "calliper", "the nearest is \"caliper\""}}},
      {FileKind::gauge,
       caliper,
       "source:",
       "size: 8 mm\nsource:",
       {{"5:1", "unknown key \"size\"", "one of id, kind"}}},
      {FileKind::gauge, caliper, "0.03 mm", "0.03 deg", {{"4:23", "0.03 deg", "belongs to an angle"}}},
      {FileKind::gauge,
       caliper,
       "kind: caliper",
       "kind: go_gap",
       {{"1:1", "no key \"size\"", "a length"},
        {"3:1", "unknown key \"resolution\"", ""},
        {"4:1", "unknown key \"expanded_uncertainty\"", ""}}},
      // a whole file of the wrong shape
      {FileKind::gauge, caliper, caliper, "- 1\n- 2\n", {{"1:1", "a list", "a map of keys and values"}}},
      {FileKind::gauge, caliper, caliper, "hello\n", {{"1:1", "hello", "a map of keys and values"}}},
  };
  for (const Row& row : rows) {
    INFO("\"" << row.from << "\" made \"" << row.to << "\"");
    const auto faults = faults_of(row.kind, replaced(row.whole, row.from, row.to));
    for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
    REQUIRE(faults.size() == row.faults.size());
    for (std::size_t i = 0; i < faults.size(); ++i) {
      CHECK(line_and_column(faults[i]) == row.faults[i].place);
      CHECK_THAT(faults[i].found, Catch::Contains(row.faults[i].found));
      CHECK_THAT(faults[i].expected, Catch::Contains(row.faults[i].expected));
    }
  }
}

TEST_CASE("Every fault of a file is reported, not only the first") {
  const auto faults = faults_of(FileKind::terminal,
                                "id: Bad Id\n"
                                "shank_diameter: {least: 9.20 mm, most: 9.17 mm}\n"
                                "bore_diametr: 0.203 in\n"
                                "bore_depth: {least: 50.8, most: 51.3 kN}\n"
                                "swage_length: 1e9 mm\n"
                                "material: steel\n"
                                "material: brass\n");
  std::vector<std::string> places;
  for (const Problem& fault : faults) places.push_back(line_and_column(fault));
  CHECK(places == std::vector<std::string>{"1:1", "1:5", "2:25", "3:1", "4:21", "4:33", "5:15", "7:1"});
}
