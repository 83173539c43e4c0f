#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "library/job.hpp"
#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

const std::string job_text =
    "id: job-1\n"
    "title: Two stays (demo data)\n"
    "source: demo data\n"
    "press: press-1\n"
    "cutting: {loss: 5 mm, tolerance: 1 mm}\n"
    "spares: {rope: 3 %, terminals: 1}\n"
    "destructive_samples: {per_recipe: 2, free_length: 10 in}\n"
    "assemblies:\n"
    "  - mark: A\n"
    "    quantity: 2\n"
    "    rope: strand-5-1x19\n"
    "    pin_to_pin: 5 m\n"
    "    tension: 4.5 kN\n"
    "    prestretched: false\n"
    "    constructional_stretch: {least: 0.1 %, most: 0.3 %}\n"
    "    ends:\n"
    "      - {made: swaged, recipe: straight-shank-5-1x19, growth_share: {least: 10 %, taken: 30 %, most: 50 "
    "%}}\n"
    "      - {made: hand_fitted, what: eye, deduction: 70 mm, insertion: 38 mm, uncertainty: 2 mm, source: "
    "paper}\n";

const Library& shipped() {
  static const Library lib = load(SOURCE_DIR "/recipes");
  return lib;
}

struct Read {
  planning::Job job;
  std::vector<Problem> faults;
};

Read read(const std::string& text) {
  FaultList faults("f");
  Places places;
  Read out;
  if (const auto root = parse_yaml(text, faults)) out.job = read_job(*root, &shipped(), faults, places);
  out.faults = faults.take();
  return out;
}

std::string with(const std::string& from, const std::string& to, std::string text = job_text) {
  const std::size_t at = text.find(from);
  if (at == std::string::npos) throw std::logic_error("no \"" + from + "\"");
  return text.replace(at, from.size(), to);
}

/// A factor of NIST SP 811, Appendix B.9 by the beginning of the unit's name.
double factor(const std::string& unit) {
  std::ifstream file(SOURCE_DIR "/tests/reference/units_sp811.csv");
  for (std::string line; std::getline(file, line);) {
    if (line.rfind(unit, 0) != 0) continue;
    std::istringstream in(line);
    std::string name;
    std::string to;
    std::string value;
    std::getline(in, name, ',');
    std::getline(in, to, ',');
    std::getline(in, value, ',');
    return std::stod(value);
  }
  throw std::logic_error("no unit " + unit);
}

}  // namespace

TEST_CASE("A job comes out as it was written") {
  const Read out = read(job_text);
  for (const Problem& fault : out.faults) UNSCOPED_INFO(fault.text());
  REQUIRE(out.faults.empty());
  CHECK(out.job.press == "press-1");
  CHECK(out.job.cutting_loss_mm == 5);
  CHECK(out.job.cutting_tolerance_mm == 1);
  CHECK(out.job.rope_spare_fraction == Approx(0.03));
  CHECK(out.job.terminals_spare == 1);
  CHECK(out.job.destructive_samples->free_length_mm == Approx(254));
  REQUIRE(out.job.assemblies.size() == 1);
  const planning::Assembly& a = out.job.assemblies[0];
  CHECK(a.quantity == 2);
  CHECK(a.pin_to_pin_mm == 5000);
  CHECK(a.tension_kn == 4.5);
  CHECK(a.constructional_stretch->most == Approx(0.003));
  CHECK(a.ends[0].making == planning::EndMaking::swaged);
  CHECK(a.ends[0].growth_share->taken == Approx(0.3));
  CHECK(a.ends[1].making == planning::EndMaking::hand_fitted);
  CHECK(a.ends[1].deduction_mm == 70);
}

TEST_CASE("Inches and pounds-force plan the same cut as millimetres and kilonewtons") {
  // 196 7/8 in and 1000 lbf against the same by the factors of NIST SP 811, which have seven digits.
  const auto cut_mm = [](const Read& read) {
    REQUIRE(read.faults.empty());
    return planning::plan_of(read.job, parts_of(shipped())).assemblies.at(0).account.cut_length_mm;
  };
  const double inches = cut_mm(read(with("4.5 kN", "1000 lbf", with("5 m\n", "196 7/8 in\n"))));
  std::ostringstream mm;
  mm.precision(10);
  mm << 196.875 * factor("inch") * 1000 << " mm\n";
  std::ostringstream kn;
  kn.precision(10);
  kn << factor("pound-force") << " kN";
  CHECK(inches == Approx(cut_mm(read(with("4.5 kN", kn.str(), with("5 m\n", mm.str()))))).epsilon(1e-8));
}

TEST_CASE("Each slip in a job is one fault, at its line and column") {
  struct Row {
    std::string from, to, place, found, expected;
  };
  const std::vector<Row> rows{
      {"quantity: 2", "quantity: 0", "10:15", "0", "a whole number from 1 to 100000"},
      {"    quantity: 2\n", "", "9:5", "no key \"quantity\"", "a whole number"},
      {"strand-5-1x19\n", "strand-5-1x91\n", "11:11", "strand-5-1x91", "the nearest is \"strand-5-1x19\""},
      {"pin_to_pin: 5 m", "pin_to_pin: 5000", "12:17", "5000", "a length with its unit"},
      {"pin_to_pin: 5 m", "pin_to_pin: 5 kN", "12:17", "5 kN", "belongs to a force"},
      {"pin_to_pin: 5 m", "pin_to_pin: -5 m", "12:17", "-5 m", "from 1 mm"},
      {"tension: 4.5 kN", "tension: 15 %", "13:14", "15 %", "a force"},
      {"prestretched: false", "prestretched: no", "14:19", "no", "true or false"},
      {"prestretched: false", "prestretched: true", "15:29", "a constructional stretch",
       "none for a rope that is"},
      {"most: 0.3 %", "most: 30 %", "15:50", "30 %", "from 0 % to 3 %"},
      {"made: swaged", "made: pressed", "17:16", "pressed", "one of swaged, hand_fitted, made_elsewhere"},
      {"recipe: straight-shank-5-1x19", "recipe: straight-shank-5-7x19", "17:32", "straight-shank-5-7x19",
       "a recipe of the library"},
      {"recipe: straight-shank-5-1x19", "recipe: straight-shank-5-1x19, die_pair: hex-6", "17:65", "hex-6",
       "a die pair of the library"},
      {"taken: 30 %", "taken: 60 %", "17:90", "60 %", "no more than \"most\""},
      {"made: swaged", "made: swaged, deduction: 3 mm", "17:24", "unknown key \"deduction\"", "known here"},
      {", insertion: 38 mm", "", "18:9", "no key \"insertion\"", "a length"},
      {"press: press-1", "press: press-2", "4:8", "press-2", "a press of the library"},
      {"tolerance: 1 mm", "tolerance: 0 mm", "5:34", "0 mm", "from 0.05 mm"},
      {"per_recipe: 2", "per_recipe: 0", "7:35", "0", "a whole number from 1"},
  };
  for (const Row& row : rows) {
    INFO(row.from << " -> " << row.to);
    const auto faults = read(with(row.from, row.to)).faults;
    for (const Problem& fault : faults) UNSCOPED_INFO(fault.text());
    REQUIRE(faults.size() == 1);
    CHECK(line_and_column(faults[0]) == row.place);
    CHECK(faults[0].found == row.found);
    CHECK_THAT(faults[0].expected, Catch::Contains(row.expected));
  }
}

TEST_CASE("A job has each mark once and every assembly two ends") {
  std::string twice = job_text + job_text.substr(job_text.find("  - mark"));
  auto faults = read(twice).faults;
  REQUIRE(faults.size() == 1);
  CHECK(line_and_column(faults[0]) == "19:11");
  CHECK_THAT(faults[0].expected, Catch::Contains("stands first at f:9:11"));
  const std::string end = job_text.substr(job_text.rfind("      - {made"));
  faults = read(job_text + end).faults;
  REQUIRE(faults.size() == 1);
  CHECK_THAT(faults[0].expected, Catch::Contains("two ends"));
  faults = read(with(end, "")).faults;
  REQUIRE(faults.size() == 1);
  CHECK_THAT(faults[0].expected, Catch::Contains("at least 2"));
}

TEST_CASE("Spares, samples, press and measured shares may be left out") {
  std::string text = with("press: press-1\n", "");
  text = with("spares: {rope: 3 %, terminals: 1}\n", "", text);
  text = with("destructive_samples: {per_recipe: 2, free_length: 10 in}\n", "", text);
  text = with(", growth_share: {least: 10 %, taken: 30 %, most: 50 %}", "", text);
  text = with("    constructional_stretch: {least: 0.1 %, most: 0.3 %}\n", "", text);
  const Read out = read(text);
  CHECK(out.faults.empty());
  CHECK_FALSE(out.job.press);
  CHECK(out.job.rope_spare_fraction == 0);
  CHECK_FALSE(out.job.destructive_samples);
  CHECK_FALSE(out.job.assemblies[0].ends[0].growth_share);
}

TEST_CASE("A refusal finds its line in the job") {
  FaultList faults("f");
  Places places;
  (void)read_job(*parse_yaml(job_text, faults), nullptr, faults, places);
  const auto at = [&](const std::string& path) {
    const Place place = place_in_job(places, path);
    return std::to_string(place.line) + ":" + std::to_string(place.column);
  };
  CHECK(at("assemblies[0].rope") == "11:11");
  CHECK(at("assemblies[0].ends[0].recipe") == "17:32");
  CHECK(at("assemblies[0].ends[1]") == "18:16");           // a map: its first key's value
  CHECK(at("assemblies[0].ends[0].terminal") == "17:16");  // what the file does not say: what holds it
  CHECK(at("assemblies[0].ends[10].recipe") == "17:7");    // no such end: the list of ends
  CHECK(at("spares.rope") == "6:16");
  CHECK(at("nothing") == "1:1");
}

TEST_CASE("A job file is checked by itself like any other file") {
  const Checked sound = check_paths({SOURCE_DIR "/simulators/demo_data/jobs/mixed-ends.yaml"});
  CHECK(sound.faults.empty());
  REQUIRE(sound.warnings.size() == 1);
  CHECK_THAT(sound.warnings[0].expected, Catch::Contains("not looked up"));
}
