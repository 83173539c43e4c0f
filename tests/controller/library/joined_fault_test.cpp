#include <catch2/catch.hpp>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

const std::string recipe_file = "recipes/straight-shank-3-16-7x19.r2.yaml";

std::string value_of(const LibraryFolder& folder, const std::string& key) {
  const std::string text = folder.text(recipe_file);
  const std::size_t at = text.find(key + ": ");
  if (at == std::string::npos) throw std::logic_error("no key " + key);
  return text.substr(at, text.find('\n', at) - at);
}

struct Row {
  std::string key;     ///< line of the recipe that is changed, by its key
  std::string to;      ///< what the line becomes
  std::string marker;  ///< where in the new line the fault stands
  std::string found, expected;
};

}  // namespace

TEST_CASE("Limits that contradict one another are faults at the limit to change") {
  const std::vector<Row> rows{
      {"rope", "rope: rope-3-16-7x91", "rope-3-16-7x91", "rope-3-16-7x91",
       "the nearest is \"rope-3-16-7x19\""},
      {"rope", "rope: rope-1-4-7x19", "rope-1-4-7x19", "rope-1-4-7x19, up to",
       "a rope that enters the bore of straight-shank-3-16"},
      {"terminal", "terminal: nothing-like-it", "nothing-like-it", "nothing-like-it",
       "a terminal of this library"},
      {"press", "press: press-2", "press-2", "press-2", "the nearest is \"press-1\""},
      {"go_gauge", "go_gauge: caliper-1", "caliper-1", "caliper-1", "a gauge of kind go_gap"},
      {"measuring_gauges",
       "measuring_gauges: [caliper-1, micrometer-1, dept-rod-1, rule-1, protractor-1, straight-edge-1]",
       "dept-rod-1", "dept-rod-1", "the nearest is \"depth-rod-1\""},
      {"measuring_gauges",
       "measuring_gauges: [caliper-1, micrometer-1, go-3-16, depth-rod-1, rule-1, protractor-1, "
       "straight-edge-1]",
       "go-3-16", "go-3-16", "a gauge that gives a reading"},
      {"measuring_gauges", "measuring_gauges: [caliper-1, caliper-1, depth-rod-1, rule-1]",
       "caliper-1, depth", "\"caliper-1\" a second time", "each id once"},
      {"bore_end_clearance", "bore_end_clearance: 2.5 mm", "2.5 mm", "2.5 mm",
       "part of the swage length stays unpressed"},
      {"least_edge", "least_edge: 1.6 mm", "1.6 mm", "1.6 mm", "no more than bore_end_clearance, 1.5 mm"},
      {"dwell", "dwell: 0 s", "0 s", "0 s", "from 20 ms to 60000 ms"},
      {"closed_gap", "closed_gap: 0 mm", "0 mm", "0 mm", "from 0.005 mm to 2 mm"},
      {"permit_life", "permit_life: 0 s", "0 s", "0 s", "from 1000 ms to 65535 ms"},
      {"peak_force", "peak_force: {least: 200 kN, most: 210 kN}", "{least", "200 kN to 210 kN",
       "a band that holds target_force"},
      {"growth", "growth: {least: 30 %, most: 20 %}", "30 %", "30 %", "no more than \"most\""},
      {"growth_second_pass_least", "growth_second_pass_least: 29 %", "29 %", "29 %",
       "no more than the most growth"},
      // 3700 lbf, the rope's breaking force, is 16.4584 kN (1 lbf = 4.4482216152605 N, NIST SP 811, B.8)
      {"re_presses_max", "re_presses_max: 1\nproof: {load: 17 kN, hold: 180 s, slip_max: 0.5 mm}", "17 kN",
       "17 kN", "less than the breaking force of rope-3-16-7x19, 16.4584 kN"},
      {"re_presses_max", "re_presses_max: 1\nproof: {load: 9 kN, hold: 180 s, slip_max: 0.5 mm}", "9 kN",
       "9 kN", "a load_cell among the measuring_gauges"},
      {"re_presses_max", "re_presses_max: 1\nproof: {load: 9 kN, hold: 0 s, slip_max: 0.5 mm}", "0 s", "0 s",
       "from 1000 ms"},
      {"revision", "revision: 0", "0", "0", "from 1 to 9999"},
      {"status", "status: relased", "relased", "relased", "the nearest is \"released\""},
  };
  const LibraryFolder folder;
  const std::string sound = folder.text(recipe_file);
  for (const Row& row : rows) {
    const std::string line = value_of(folder, row.key);
    INFO("\"" << line << "\" made \"" << row.to << "\"");
    const std::string indent = sound.find("\n" + line) == std::string::npos ? "\n  " : "\n";
    folder.edit(recipe_file, indent + line + "\n", indent + row.to + "\n");
    const std::string text = folder.text(recipe_file);
    const auto faults = folder.faults_in(recipe_file);
    for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
    REQUIRE(faults.size() == 1);
    const std::size_t at = text.find(row.to) + row.to.find(row.marker);
    CHECK(line_and_column(faults[0]) == place_of(text.substr(0, at) + "\x01", "\x01"));
    CHECK_THAT(faults[0].found, Catch::Contains(row.found));
    CHECK_THAT(faults[0].expected, Catch::Contains(row.expected));
    folder.write(recipe_file, sound);
  }
  CHECK(folder.faults_in(recipe_file).empty());
}

TEST_CASE("Force limits are held against press, die pair and envelope, each at its own place") {
  const LibraryFolder folder;
  const std::string sound = folder.text(recipe_file);
  const auto texts = [&] {
    std::string out;
    for (const Problem& fault : folder.faults_in(recipe_file))
      out += line_and_column(fault) + " " + fault.text() + "\n";
    return out;
  };
  const std::string target_line = value_of(folder, "target_force");
  const std::string limit_line = value_of(folder, "force_limit");

  folder.edit(recipe_file, target_line, "target_force: 1475 kN");
  CHECK_THAT(texts(), Catch::Contains("no more than the capacity of press-1, 1470.9975 kN") &&
                          Catch::Contains("more than target_force, 1475 kN") &&
                          Catch::Contains("the rated force of hex-3-16") &&
                          Catch::Contains("a band that holds target_force"));
  folder.write(recipe_file, sound);

  folder.edit(recipe_file, target_line, "target_force: 100 kN");
  const std::string low = texts();
  CHECK_THAT(low, Catch::Contains("no more than target_force, 100 kN: the press stops there"));
  folder.write(recipe_file, sound);

  folder.edit(recipe_file, limit_line, "force_limit: 1600 kN");
  CHECK_THAT(texts(), Catch::Contains("no more than the capacity of press-1") &&
                          Catch::Contains("no more than the rated force of hex-3-16"));
  folder.write(recipe_file, sound);

  // A press whose pressure does not reach its capacity is a fault of the press; one that is small is a fault
  // of the recipe.
  folder.edit("presses/press-1.yaml", "pressure_max: 705 bar", "pressure_max: 100 bar");
  folder.edit("presses/press-1.yaml", "capacity: 150 tonnef", "capacity: 200 kN");
  CHECK_THAT(texts(), Catch::Contains("no more than the capacity of press-1, 200 kN"));
}

TEST_CASE("A turn that lets flats fall on flats is a fault, for a round pair only when it is a half turn") {
  const LibraryFolder folder;
  for (const char* turn :
       {"angle: 60 deg", "angle: 120 deg", "angle: 180 deg", "angle: 110 deg", "angle: 0 deg"}) {
    INFO(turn);
    const std::string sound = folder.text(recipe_file);
    folder.edit(recipe_file, "angle: 90 deg", turn);
    const auto faults = folder.faults_in(recipe_file);
    REQUIRE(faults.size() == 1);
    CHECK(line_and_column(faults[0]) == place_of(folder.text(recipe_file), "5 deg"));
    CHECK_THAT(faults[0].expected, Catch::Contains("flats fall on flats"));
    folder.write(recipe_file, sound);
  }
  const std::string round = "recipes/straight-shank-3-16-7x19-round.r2.yaml";
  folder.edit(round, "angle: 90 deg", "angle: 60 deg");
  CHECK(folder.faults_in(round).empty());
  folder.edit(round, "angle: 60 deg", "angle: 180 deg");
  CHECK(folder.faults_in(round).size() == 1);
  // The tolerance counts: 90 deg less 20 is 70, ten off 60, where 20 are asked for.
  folder.edit(recipe_file, "tolerance: 5 deg", "tolerance: 20 deg");
  CHECK(folder.faults_in(recipe_file).size() == 1);
}

TEST_CASE("The envelope has one entry a pass, gaps that fall, and lies between contact and closure") {
  const LibraryFolder folder;
  const std::string sound = folder.text(recipe_file);
  const auto only_fault = [&](const std::string& from, const std::string& to, const std::string& expected) {
    INFO("\"" << from << "\" made \"" << to << "\"");
    std::string text = sound;
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    folder.write(recipe_file, text.replace(at, from.size(), to));
    const auto faults = folder.faults_in(recipe_file);
    for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
    REQUIRE(faults.size() == 1);
    CHECK_THAT(faults[0].expected, Catch::Contains(expected));
  };
  only_fault("gap: 0.3 mm", "gap: 0.6 mm", "less than the gap before it, 0.5 mm");
  only_fault("gap: 0.15 mm", "gap: 0.05 mm", "more than closed_gap, 0.05 mm");
  only_fault("gap: 0.5 mm", "gap: 3 mm", "the gap at which the dies first touch the shank");
  only_fault("- pass: 2", "- pass: 1", "2: passes in order");
  only_fault("passes: 2", "passes: 3", "one entry for each of the 3 passes");
}

TEST_CASE("Go and no-go sizes must be the limits of the across-flats band") {
  const LibraryFolder folder;
  const std::string sound = folder.text(recipe_file);
  const auto expect = [&](const std::string& from, const std::string& to,
                          const std::vector<std::string>& expected) {
    INFO("\"" << from << "\" made \"" << to << "\"");
    folder.edit(recipe_file, from, to);
    const auto faults = folder.faults_in(recipe_file);
    for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
    REQUIRE(faults.size() == expected.size());
    for (std::size_t i = 0; i < faults.size(); ++i)
      CHECK_THAT(faults[i].expected, Catch::Contains(expected[i]));
    folder.write(recipe_file, sound);
  };
  expect("most: 0.313 in", "most: 0.315 in", {"the size of go-3-16, 7.9502 mm"});
  expect("least: 0.305 in", "least: 0.306 in", {"the size of no-go-3-16, 7.747 mm"});
  // The same sizes written in millimetres are the same sizes.
  expect("{least: 0.305 in, most: 0.313 in}", "{least: 7.747 mm, most: 7.9502 mm}", {});
  expect("no_go_gauge: no-go-3-16\n", "no_go_gauge: no-go-7-32\n",
         {"a no-go size below the go size", "the size of no-go-7-32"});
  expect("die_pair: hex-3-16\n", "die_pair: hex-5-32\n", {"a die pair that gives"});
  // A no-go size equal to or above the go size, put into the gauge itself.
  folder.edit("gauges/no-go-3-16.yaml", "size: 0.305 in", "size: 0.313 in");
  CHECK(folder.faults_in(recipe_file).size() == 2);
}

TEST_CASE("A tolerance that eats the die length leaves no bite plan") {
  const LibraryFolder folder;
  folder.edit(recipe_file, "least_overlap: 2 mm", "least_overlap: 32 mm");
  const auto faults = folder.faults_in(recipe_file);
  REQUIRE(faults.size() == 1);
  CHECK_THAT(faults[0].expected, Catch::Contains("room to cover the swage length"));
}

TEST_CASE("A recipe that names a file with faults says so, and is not offered") {
  const LibraryFolder folder;
  folder.edit("dies/hex-3-16.yaml", "shape: hexagon", "shape: hexagram");
  const auto faults = folder.faults_in(recipe_file);
  REQUIRE(faults.size() == 1);
  CHECK(line_and_column(faults[0]) == place_of(folder.text(recipe_file), "hex-3-16"));
  CHECK_THAT(faults[0].found, Catch::Contains("hex-3-16, which has faults of its own"));
  const Library library = load(folder.path());
  CHECK_FALSE(library.recipes.contains("straight-shank-3-16-7x19"));
  CHECK(library.recipes.contains("straight-shank-1-8-7x19"));
  CHECK_FALSE(join(library, "straight-shank-3-16-7x19").ok());
}

TEST_CASE("Odd but possible choices are warnings, not faults") {
  const LibraryFolder folder;
  CHECK(load(folder.path()).warnings.empty());
  folder.edit(recipe_file, "protractor-1, ", "");
  folder.edit(recipe_file, "least_edge: 0.7 mm", "least_edge: 0.3 mm");
  folder.write("ropes/notes.txt", "remember to order rope");
  const Library library = load(folder.path());
  CHECK(library.faults.empty());
  REQUIRE(library.warnings.size() == 3);
  CHECK_THAT(library.warnings[0].found, Catch::Contains("protractor"));
  CHECK_THAT(library.warnings[1].expected, Catch::Contains("mark_tolerance"));
  CHECK_THAT(library.warnings[2].place, Catch::Contains("notes.txt"));
  CHECK(library.recipes.contains("straight-shank-3-16-7x19"));
}
