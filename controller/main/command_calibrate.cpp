#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "calibration/force.hpp"
#include "library/force_readings.hpp"
#include "main/commands.hpp"
#include "people/roles.hpp"

namespace shankwright::command {
namespace {

using calibration::ForceClass;
using Json = nlohmann::ordered_json;

struct Options {
  std::string file;
  bool as_data = false;
};

Json number_or_null(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

std::string to_json(const library::ForceReadings& readings, const calibration::ForceResult& result,
                    bool meets) {
  Json steps = Json::array();
  for (const auto& step : result.steps) {
    Json q = Json::array();
    for (const double one : step.q_percent) q.push_back(number_or_null(one));
    steps.push_back({{"indicated_kn", step.indicated_kn},
                     {"q_percent", q},
                     {"q_mean_percent", number_or_null(step.q_mean_percent)},
                     {"b_percent", number_or_null(step.b_percent)},
                     {"a_percent", number_or_null(step.a_percent)},
                     {"class", calibration::name_of(step.of)}});
  }
  Json shortfalls = Json::array();
  for (const auto one : result.shortfalls)
    shortfalls.push_back({{"code", calibration::name_of(one)}, {"what", calibration::words_of(one)}});
  const Json out = {
      {"press", readings.press},
      {"cell", readings.cell},
      {"date", people::day_text(readings.day)},
      {"range_kn", readings.series.range_kn},
      {"resolution_kn", readings.series.resolution_kn},
      {"runs", readings.series.runs.size()},
      {"steps", steps},
      {"f0_percent", number_or_null(result.f0_percent)},
      {"class", calibration::name_of(result.of)},
      {"class_needed",
       readings.class_needed ? Json(calibration::name_of(*readings.class_needed)) : Json(nullptr)},
      {"meets", meets},
      {"ram_moved_between_runs", result.ram_moved_between_runs},
      {"shortfalls", shortfalls}};
  return out.dump(2) + "\n";
}

std::string to_text(const library::ForceReadings& readings, const calibration::ForceResult& result,
                    bool meets) {
  std::string out = fmt::format(
      "Force calibration of {} with {}, {}\nrange {:g} kN, resolution {:g} kN, {} run{}\n\n"
      "  indicated          q of each run        q        b        a   class\n",
      readings.press, readings.cell, people::day_text(readings.day), readings.series.range_kn,
      readings.series.resolution_kn, readings.series.runs.size(),
      readings.series.runs.size() == 1 ? "" : "s");
  for (const auto& step : result.steps) {
    std::string runs;
    for (const double q : step.q_percent) runs += fmt::format("{:+7.2f}", q);
    out +=
        fmt::format("{:8.1f} kN  {:>21} % {:+6.2f} % {:6.2f} % {:6.2f} %  {:>5}\n", step.indicated_kn, runs,
                    step.q_mean_percent, step.b_percent, step.a_percent, calibration::name_of(step.of));
  }
  out += fmt::format("\nzero error f0 {:+.3f} %\n", result.f0_percent);
  for (const auto one : result.shortfalls) out += fmt::format("short: {}\n", calibration::words_of(one));
  if (!result.ram_moved_between_runs)
    out +=
        "note: the ram did not stand at three different positions, or nobody noted it; ISO 7500-1 asks for "
        "that\n"
        "where the force is measured by the pressure at the actuator\n";
  if (result.of == ForceClass::none)
    out += result.shortfalls.empty() ? "no class: outside class 3\n" : "no class: readings are missing\n";
  else
    out += fmt::format("class {}\n", calibration::name_of(result.of));
  if (readings.class_needed)
    out += fmt::format("class {} is needed: {}\n", calibration::name_of(*readings.class_needed),
                       meets ? "met" : "not met");
  return out;
}

int run(const Options& options) {
  const auto read = library::load_force_readings(options.file);
  for (const Problem& fault : read.faults) std::cerr << fault.text() << '\n';
  if (read.unreadable) return 3;
  if (!read.faults.empty()) return 1;
  const auto result = calibration::judge(read.readings.series);
  const bool meets =
      calibration::good_enough(result.of, read.readings.class_needed.value_or(ForceClass::three));
  std::cout << (options.as_data ? to_json(read.readings, result, meets)
                                : to_text(read.readings, result, meets))
            << std::flush;
  if (!std::cout) {
    std::cerr << "shankwright: the output could not be written whole\n";
    return 3;
  }
  return meets ? 0 : 1;
}

}  // namespace

void add_calibrate(CLI::App& app, int& exit_code) {
  CLI::App* const calibrate = app.add_subcommand("calibrate", "Judge the readings of a calibration");
  calibrate->require_subcommand(1);
  CLI::App* const force = calibrate->add_subcommand(
      "force",
      "A press against a force cell, by the method of ISO 7500-1: errors of each force, and the class");
  force->footer(
      "The file, YAML or JSON:\n"
      "  press: press-1\n"
      "  cell: load-cell-1\n"
      "  date: 2026-11-20\n"
      "  range: 600 kN            # the greatest force\n"
      "  resolution: 0.5 kN       # of the press's indication\n"
      "  class_needed: 1          # may be left out: 0.5, 1, 2 or 3\n"
      "  runs:                    # three or more, one of them with the cell turned\n"
      "    - cell_angle: 0 deg\n"
      "      ram_position: 20 mm  # may be left out\n"
      "      readings:            # five or more, from 20 % to 100 % of the range, rising\n"
      "        - {indicated: 120 kN, cell: 120.3 kN}\n"
      "      zero: 0.1 kN         # indicated after the force is taken off\n"
      "Only judged: what puts a calibration on record, and moves the day on which the press falls due, is "
      "the\n"
      "page's Workshop, by a technician who has signed in. The standard is used as a method; this is no\n"
      "accredited verification. The press maker's instructions, local codes and a competent person come "
      "first;\n"
      "Shankwright is not a safety function.\n"
      "Exit 0 when a class is reached (and the needed one, where it is named), 1 when not or the file has "
      "faults,\n"
      "2 wrong usage, 3 a fault of the machine.");
  const auto options = std::make_shared<Options>();
  force->add_option("FILE", options->file, "File of readings")->required();
  force->add_flag("--json", options->as_data, "Print everything as JSON");
  force->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace shankwright::command
