#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "library/force_readings.hpp"

// Goal: a file of force readings is taken only when all of it is understood, and each fault is found at its
// line and column. Method: one good file, and one fault at a time.
using namespace shankwright;
using namespace shankwright::library;

namespace {

const std::string good =
    "press: press-1\n"
    "cell: load-cell-1\n"
    "date: 2026-11-20\n"
    "range: 600 kN\n"
    "resolution: 0.5 kN\n"
    "class_needed: 1\n"
    "runs:\n"
    "  - cell_angle: 0 deg\n"
    "    ram_position: 20 mm\n"
    "    readings: [{indicated: 120 kN, cell: 120.3 kN}, {indicated: 600 kN, cell: 61.2 tonnef}]\n"
    "    zero: -0.1 kN\n"
    "  - cell_angle: 120 deg\n"
    "    readings:\n"
    "      - {indicated: 120 kN, cell: 120.1 kN}\n";

ForceReadingsResult read(const std::string& text, const std::string& name = "readings.yaml") {
  const auto folder = std::filesystem::temp_directory_path() / "shankwright-force-readings-test";
  std::filesystem::create_directories(folder);
  const auto file = folder / name;
  std::ofstream(file) << text;
  auto out = load_force_readings(file);
  std::filesystem::remove_all(folder);
  return out;
}

std::string with(const std::string& from, const std::string& to) {
  std::string text = good;
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("A file of force readings says what was read, in kN, whatever unit it was written in") {
  const auto result = read(good);
  REQUIRE(result.faults.empty());
  const auto& readings = result.readings;
  CHECK(readings.press == "press-1");
  CHECK(readings.cell == "load-cell-1");
  CHECK(readings.day == 20777);  // date -d 2026-11-20 +%s / 86400
  CHECK(readings.series.range_kn == 600);
  CHECK(readings.series.resolution_kn == 0.5);
  CHECK(readings.class_needed == calibration::ForceClass::one);
  REQUIRE(readings.series.runs.size() == 2);
  const auto& first = readings.series.runs[0];
  CHECK(first.ram_position_mm == 20.);
  CHECK(first.zero_kn == -0.1);
  REQUIRE(first.readings.size() == 2);
  CHECK(first.readings[1].cell_kn == Approx(61.2 * 9.80665));  // SI brochure: standard gravity
  CHECK(readings.series.runs[1].cell_angle_deg == 120);
  CHECK_FALSE(readings.series.runs[1].zero_kn);
  CHECK_FALSE(readings.series.runs[1].ram_position_mm);
}

TEST_CASE("The same readings as JSON are the same") {
  const auto result = read(
      R"({"press": "press-1", "cell": "load-cell-1", "date": "2026-11-20", "range": "600 kN",
          "resolution": "0.5 kN", "runs": [{"cell_angle": "0 deg", "zero": "0 kN",
          "readings": [{"indicated": "120 kN", "cell": "120.3 kN"}]}]})",
      "readings.json");
  REQUIRE(result.faults.empty());
  CHECK(result.readings.series.runs.at(0).readings.at(0).cell_kn == 120.3);
  CHECK_FALSE(result.readings.class_needed);
}

TEST_CASE("Each fault of a file of force readings is told at its line and column") {
  struct Fault {
    std::string from, to, at;
  };
  const Fault faults[] = {
      {"range: 600 kN", "range: 600", ":4:8"},
      {"resolution: 0.5 kN", "resolution: 0.5 bar", ":5:13"},
      {"class_needed: 1", "class_needed: 1.5", ":6:15"},
      {"date: 2026-11-20", "date: 20.11.2026", ":3:7"},
      {"cell_angle: 0 deg", "cell_angle: 0 deg\n    cell_angel: 0 deg", ":9:5"},
      {"{indicated: 120 kN, cell: 120.3 kN}", "{indicated: 120 kN}", ":10:16"},
      {"cell: 120.1 kN", "cell: -1 kN", ":14:35"},
      {"cell: load-cell-1\n", "", ":1:1"},
  };
  for (const auto& fault : faults) {
    INFO(fault.to);
    const auto result = read(with(fault.from, fault.to));
    REQUIRE(result.faults.size() == 1);
    INFO(result.faults[0].text());
    CHECK(result.faults[0].place.ends_with("readings.yaml" + fault.at));
  }
  CHECK(load_force_readings("no/such/file.yaml").unreadable);
}
