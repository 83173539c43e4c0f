#include "library/force_readings.hpp"

#include "library/node.hpp"
#include "library/reader.hpp"

namespace shankwright::library {
namespace {

using calibration::ForceClass;

constexpr Named<ForceClass> class_names[] = {
    {"0.5", ForceClass::half}, {"1", ForceClass::one}, {"2", ForceClass::two}, {"3", ForceClass::three}};
constexpr Range force_range{0, 100'000};
/// What is indicated without force may lie below zero.
constexpr Range zero_range{-1000, 1000};

calibration::ForceRun read_run(MapReader run, FaultList& faults, Places& places) {
  calibration::ForceRun out;
  out.cell_angle_deg = run.quantity("cell_angle", angle_deg, {0, 360});
  out.ram_position_mm = run.optional_quantity("ram_position", length_mm, {0, 1000});
  for (const auto& [node, at] : run.list("readings", 1, "readings")) {
    MapReader reading(*node, at, faults, places);
    calibration::ForceReading one;
    one.indicated_kn = reading.quantity("indicated", force_kn, force_range);
    one.cell_kn = reading.quantity("cell", force_kn, force_range);
    reading.finish();
    out.readings.push_back(one);
  }
  out.zero_kn = run.optional_quantity("zero", force_kn, zero_range);
  run.finish();
  return out;
}

ForceReadings read_all(const Node& root, FaultList& faults, Places& places) {
  MapReader reader(root, "", faults, places);
  ForceReadings out;
  out.press = reader.id("press");
  out.cell = reader.id("cell");
  out.day = reader.day("date");
  out.series.range_kn = reader.quantity("range", force_kn, {1, 100'000});
  out.series.resolution_kn = reader.quantity("resolution", force_kn, {0.0001, 1000});
  if (reader.has("class_needed"))
    out.class_needed = reader.choice("class_needed", class_names);
  else
    reader.may_have("class_needed");
  for (const auto& [node, at] : reader.list("runs", 1, "runs"))
    out.series.runs.push_back(read_run(MapReader(*node, at, faults, places), faults, places));
  reader.finish();
  return out;
}

}  // namespace

ForceReadingsResult load_force_readings(const std::filesystem::path& file) {
  ForceReadingsResult out;
  const auto text = read_file(file);
  if (!text) {
    out.faults.push_back(text.problem());
    out.unreadable = true;
    return out;
  }
  FaultList faults(file.generic_string());
  Places places;
  if (const auto root = parse_yaml(text.value(), faults)) out.readings = read_all(*root, faults, places);
  out.faults = faults.take();
  return out;
}

}  // namespace shankwright::library
