#include "calibration/force_record.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

namespace shankwright::calibration {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json of_reading(const KeptReading& reading, bool zero) {
  Json out = {{"indicated_kn", reading.indicated_kn}};
  if (!zero) out["cell_kn"] = reading.cell_kn;
  out["pressure_bar"] = reading.pressure_bar ? Json(*reading.pressure_bar) : Json(nullptr);
  out["at_utc_us"] = reading.at_utc_us;
  out["by"] = reading.by;
  return out;
}

KeptReading reading_of(const Json& json) {
  KeptReading out;
  out.indicated_kn = json.at("indicated_kn").get<double>();
  out.cell_kn = json.value("cell_kn", 0.);
  if (const auto& bar = json.at("pressure_bar"); !bar.is_null()) out.pressure_bar = bar.get<double>();
  out.at_utc_us = json.at("at_utc_us").get<std::int64_t>();
  out.by = json.at("by").get<std::string>();
  return out;
}

Json of_result(const ForceResult& result) {
  Json steps = Json::array();
  for (const auto& step : result.steps) {
    Json q = Json::array();
    for (const double one : step.q_percent) q.push_back(number(one));
    steps.push_back({{"indicated_kn", step.indicated_kn},
                     {"q_percent", q},
                     {"q_mean_percent", number(step.q_mean_percent)},
                     {"b_percent", number(step.b_percent)},
                     {"a_percent", number(step.a_percent)},
                     {"class", name_of(step.of)}});
  }
  return {{"class", name_of(result.of)},
          {"f0_percent", result.f0_percent},
          {"ram_moved_between_runs", result.ram_moved_between_runs},
          {"steps", steps}};
}

const Problem unreadable{"force_calibrated", "an entry that cannot be read", "a force calibration"};

}  // namespace

ForceSeries ForceCalibration::series() const {
  ForceSeries out{range_kn, resolution_kn, {}};
  for (const auto& run : runs) {
    ForceRun one;
    one.cell_angle_deg = run.cell_angle_deg;
    one.ram_position_mm = run.ram_position_mm;
    for (const auto& reading : run.readings) one.readings.push_back({reading.indicated_kn, reading.cell_kn});
    if (run.zero) one.zero_kn = run.zero->indicated_kn;
    out.runs.push_back(std::move(one));
  }
  return out;
}

std::string to_json(const ForceCalibration& calibration) {
  Json runs = Json::array();
  for (const auto& run : calibration.runs) {
    Json readings = Json::array();
    for (const auto& reading : run.readings) readings.push_back(of_reading(reading, false));
    runs.push_back({{"cell_angle_deg", run.cell_angle_deg},
                    {"ram_position_mm", run.ram_position_mm ? Json(*run.ram_position_mm) : Json(nullptr)},
                    {"readings", readings},
                    {"zero", run.zero ? of_reading(*run.zero, true) : Json(nullptr)}});
  }
  Json discarded = Json::array();
  for (const auto& one : calibration.discarded)
    discarded.push_back(
        {{"run", one.run}, {"step", one.step}, {"reading", of_reading(one.reading, one.step == 0)}});
  const Json out = {{"press", calibration.press},
                    {"cell", calibration.cell},
                    {"range_kn", calibration.range_kn},
                    {"resolution_kn", calibration.resolution_kn},
                    {"class_needed", name_of(calibration.class_needed)},
                    {"steps", calibration.steps},
                    {"due_day", calibration.due_day ? Json(*calibration.due_day) : Json(nullptr)},
                    {"begun_utc_us", calibration.begun_utc_us},
                    {"result", of_result(judge(calibration.series()))},
                    {"runs", runs},
                    {"discarded", discarded}};
  return out.dump();
}

Result<ForceCalibration> calibration_from_json(const std::string& text) try {
  const Json json = Json::parse(text);
  ForceCalibration out;
  out.press = json.at("press").get<std::string>();
  out.cell = json.at("cell").get<std::string>();
  out.range_kn = json.at("range_kn").get<double>();
  out.resolution_kn = json.at("resolution_kn").get<double>();
  out.class_needed = class_named(json.at("class_needed").get<std::string>()).value_or(ForceClass::none);
  out.steps = json.at("steps").get<std::size_t>();
  if (const auto& due = json.at("due_day"); !due.is_null()) out.due_day = due.get<std::int64_t>();
  out.begun_utc_us = json.at("begun_utc_us").get<std::int64_t>();
  for (const auto& from : json.at("runs")) {
    KeptRun run;
    run.cell_angle_deg = from.at("cell_angle_deg").get<double>();
    if (const auto& at = from.at("ram_position_mm"); !at.is_null()) run.ram_position_mm = at.get<double>();
    for (const auto& reading : from.at("readings")) run.readings.push_back(reading_of(reading));
    if (const auto& zero = from.at("zero"); !zero.is_null()) run.zero = reading_of(zero);
    out.runs.push_back(std::move(run));
  }
  for (const auto& from : json.at("discarded"))
    out.discarded.push_back({from.at("run").get<std::size_t>(), from.at("step").get<std::size_t>(),
                             reading_of(from.at("reading"))});
  return out;
} catch (const Json::exception&) {
  return unreadable;
}

Result<PressDue> press_due_from_json(const std::string& text) try {
  const Json json = Json::parse(text);
  PressDue out{json.at("press").get<std::string>(), std::nullopt};
  if (const auto& due = json.at("due_day"); !due.is_null()) out.due_day = due.get<std::int64_t>();
  return out;
} catch (const Json::exception&) {
  return unreadable;
}

}  // namespace shankwright::calibration
