#include <chrono>
#include <nlohmann/json.hpp>

#include "hmi/server/json_out.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/signature.hpp"
#include "hmi/server/station_out.hpp"
#include "hmi/server/workshop_in.hpp"
#include "hmi/server/workshop_reply.hpp"
#include "library/names.hpp"
#include "people/roles.hpp"
#include "review/time.hpp"
#include "wording/wording.hpp"
#include "workshop/workshop.hpp"

/// Force calibration led step by step, the press's health, what falls due.
namespace shankwright::hmi {
namespace {

using calibration::ForceCalibration;

Json day_or_null(const std::optional<std::int64_t>& day) {
  return day ? Json(people::day_text(*day)) : Json(nullptr);
}

Json utc(std::int64_t at_utc_us) {
  return review::utc_text(at_utc_us, utc_decimals);
}

Json reading_json(const calibration::KeptReading& reading, bool zero) {
  return {{"indicated_kn", number(reading.indicated_kn)},
          {"cell_kn", zero ? Json(nullptr) : number(reading.cell_kn)},
          {"pressure_bar", reading.pressure_bar ? number(*reading.pressure_bar) : Json(nullptr)},
          {"error_percent",
           zero ? Json(nullptr)
                : number(calibration::indication_error_percent({reading.indicated_kn, reading.cell_kn}))},
          {"at_utc", utc(reading.at_utc_us)},
          {"by", reading.by}};
}

Json result_json(const calibration::ForceResult& result) {
  Json steps = Json::array();
  for (const auto& step : result.steps) {
    Json q = Json::array();
    for (const double one : step.q_percent) q.push_back(number(one));
    steps.push_back({{"indicated_kn", number(step.indicated_kn)},
                     {"q_percent", q},
                     {"q_mean_percent", number(step.q_mean_percent)},
                     {"b_percent", number(step.b_percent)},
                     {"a_percent", number(step.a_percent)},
                     {"class", calibration::name_of(step.of)}});
  }
  Json shortfalls = Json::array();
  for (const auto one : result.shortfalls)
    shortfalls.push_back({{"code", calibration::name_of(one)}, {"what", calibration::words_of(one)}});
  return {{"class", calibration::name_of(result.of)},
          {"f0_percent", number(result.f0_percent)},
          {"ram_moved_between_runs", result.ram_moved_between_runs},
          {"steps", steps},
          {"shortfalls", shortfalls}};
}

Json calibration_json(const ForceCalibration& calibration) {
  Json runs = Json::array();
  for (const auto& run : calibration.runs) {
    Json readings = Json::array();
    for (const auto& reading : run.readings) readings.push_back(reading_json(reading, false));
    runs.push_back({{"cell_angle_deg", run.cell_angle_deg},
                    {"ram_position_mm", run.ram_position_mm ? number(*run.ram_position_mm) : Json(nullptr)},
                    {"readings", readings},
                    {"zero", run.zero ? reading_json(*run.zero, true) : Json(nullptr)}});
  }
  Json discarded = Json::array();
  for (const auto& one : calibration.discarded)
    discarded.push_back(
        {{"run", one.run}, {"step", one.step}, {"reading", reading_json(one.reading, one.step == 0)}});
  const auto result = calibration::judge(calibration.series());
  return {{"press", calibration.press},
          {"cell", calibration.cell},
          {"range_kn", number(calibration.range_kn)},
          {"resolution_kn", number(calibration.resolution_kn)},
          {"class_needed", calibration::name_of(calibration.class_needed)},
          {"steps", calibration.steps},
          {"begun_utc", utc(calibration.begun_utc_us)},
          {"due", day_or_null(calibration.due_day)},
          {"runs", runs},
          {"discarded", discarded},
          {"result", result_json(result)},
          {"meets", calibration::good_enough(result.of, calibration.class_needed)}};
}

const char* name_of(workshop::ForceAsked::What what) {
  switch (what) {
    case workshop::ForceAsked::What::run:
      return "run";
    case workshop::ForceAsked::What::reading:
      return "reading";
    case workshop::ForceAsked::What::zero:
      return "zero";
    case workshop::ForceAsked::What::finish:
      break;
  }
  return "finish";
}

Json cells_json(const Service& service) {
  const std::int64_t today = service.clock.utc_us() / review::us_per_day;
  Json out = Json::array();
  for (const auto& [id, gauge] : service.desk.workshop->library().gauges) {
    if (gauge.kind != recipe::GaugeKind::load_cell) continue;
    const auto due = service.desk.workshop->shop().gauge_calibration_due_day.find(id);
    const bool known = due != service.desk.workshop->shop().gauge_calibration_due_day.end();
    out.push_back({{"id", id},
                   {"resolution_kn", number(gauge.resolution_mm)},
                   {"expanded_uncertainty_kn", number(gauge.expanded_uncertainty_mm)},
                   {"calibration_due", known ? Json(people::day_text(due->second)) : Json(nullptr)},
                   {"in_date", known && due->second >= today}});
  }
  return out;
}

constexpr std::size_t earlier_most = 12;

/// What every route about the calibration answers: all of it, so that the page never guesses.
Reply calibration_reply(const Service& service) {
  auto& shop = *service.desk.workshop;
  const auto now = shop.calibrating();
  const auto until = shop.calibrations().until(shop.options().press_id);
  const auto stored = shop.calibrations().all(shop.options().press_id);
  if (!until) return refuse(503, until.problem());
  if (!stored) return refuse(503, stored.problem());
  Json earlier = Json::array();
  for (const auto& one : stored.value()) {
    if (earlier.size() == earlier_most) break;
    const auto read = calibration::calibration_from_json(one.body_json);
    if (!read) return refuse(503, read.problem());
    Json line = calibration_json(read.value());
    line["at_utc"] = utc(one.at_utc_us);
    line["by"] = one.actor;
    earlier.push_back(std::move(line));
  }
  const auto press = service.desk.workshop->library().presses.find(shop.options().press_id);
  Json targets = Json::array();
  for (const double target : now.targets_kn) targets.push_back(number(target));
  return workshop_reply({{"press", shop.options().press_id},
                         {"capacity_kn", press == service.desk.workshop->library().presses.end()
                                             ? Json(nullptr)
                                             : number(press->second.capacity_kn)},
                         {"cells", cells_json(service)},
                         {"due", day_or_null(until.value().day)},
                         {"due_from", until.value().on_record ? "record" : "shop_register"},
                         {"due_latest", people::day_text(service.clock.utc_us() / review::us_per_day +
                                                         workshop::interval_days_most)},
                         {"target_tolerance_share", workshop::target_tolerance_share},
                         {"running", now.running ? calibration_json(*now.running) : Json(nullptr)},
                         {"targets_kn", targets},
                         {"asked", now.running ? Json{{"what", name_of(now.asked.what)},
                                                      {"run", now.asked.run},
                                                      {"step", now.asked.step},
                                                      {"target_kn", number(now.asked.target_kn)}}
                                               : Json(nullptr)},
                         {"earlier", earlier}});
}

constexpr int scans_in_a_reading = 10, reading_ms_most = 400;

/// The newest picture, with the mean of its pressure and that of the next scans: one scan alone carries the
/// whole noise of the sensor, some tenths of a bar.
ports::Snapshot steady_picture(const Service& service) {
  ports::Snapshot out = *newest(service.station);
  double sum_bar = out.press.pressure_bar;
  int scans = 1;
  const auto begun = std::chrono::steady_clock::now();
  while (scans < scans_in_a_reading) {
    const auto gone_ms =
        std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now() - begun)
            .count();
    if (gone_ms >= reading_ms_most) break;
    const auto next = service.station.wait_newer(out.version, static_cast<int>(reading_ms_most - gone_ms));
    if (next == nullptr || next->version == out.version) break;
    const bool another_scan = next->press.number != out.press.number;
    out = *next;
    if (!another_scan) continue;
    sum_bar += out.press.pressure_bar;
    ++scans;
  }
  out.press.pressure_bar = sum_bar / scans;
  return out;
}

Reply answer_of(const Service& service, const std::optional<Problem>& problem) {
  return problem ? refuse_of(*problem) : calibration_reply(service);
}

}  // namespace

Reply refuse_no_workshop() {
  return refuse(503, {"workshop", "a station without a workshop", "a station with its record open"});
}

Reply workshop_reply(const Json& body, int status) {
  Reply reply;
  reply.status = status;
  reply.body = dump_json(body);
  return reply;
}

Reply refuse_of(const Problem& problem) {
  const bool machine = problem.place == "record" || problem.place == "disk" || problem.place == "file";
  return refuse(machine ? 503 : 422, problem);
}

Reply force_calibration(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  return calibration_reply(service);
}

Reply begin_force_calibration(const Service& service, const Request& request) {
  const auto read = read_force_begin(request.body);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  return answer_of(service, service.desk.workshop->begin(read.value()));
}

Reply begin_force_run(const Service& service, const Request& request) {
  const auto read = read_run_begin(request.body);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  return answer_of(service, service.desk.workshop->begin_run(read.value()));
}

Reply take_force_reading(const Service& service, const Request& request) {
  const auto read = read_force_reading(request.body);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const ports::Snapshot press =
      read.value().indicated_kn ? *newest(service.station) : steady_picture(service);
  return answer_of(service, service.desk.workshop->take(read.value(), press, request.person->id));
}

Reply finish_force_calibration(const Service& service, const Request& request) {
  const auto read = read_force_finish(request.body);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  if (auto refusal = refuse_unsigned(service, request, read.value().pin)) return *refusal;
  const auto done = service.desk.workshop->finish(read.value().due_day, request.person->id);
  return done ? calibration_reply(service) : refuse_of(done.problem());
}

Reply leave_force_calibration(const Service& service, const Request& request) {
  const auto read = read_reasoned(request.body, false);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  return answer_of(service, service.desk.workshop->leave(read.value().reason, request.person->id));
}

Reply press_health(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto events = service.desk.workshop->health().events();
  if (!events) return refuse(503, events.problem());
  const auto holds = service.desk.workshop->health().holds();
  if (!holds) return refuse(503, holds.problem());
  Json told = Json::array(), held = Json::array();
  for (const auto& event : events.value())
    told.push_back({{"at_utc", utc(event.at_utc_us)},
                    {"event", event.event},
                    {"by", event.actor},
                    {"detail", event.detail},
                    {"fault", wording::press_fault(static_cast<std::uint16_t>(event.fault_code))},
                    {"fault_code", event.fault_code}});
  for (const auto& point : holds.value())
    held.push_back({{"serial", point.serial},
                    {"at_utc", utc(point.at_utc_us)},
                    {"bar_per_min", number(point.slope.bar_per_min)},
                    {"bar_per_min_error", number(point.slope.bar_per_min_error)},
                    {"mean_bar", number(point.slope.mean_bar)},
                    {"held_ms", number(point.slope.held_ms)}});
  const auto snapshot = newest(service.station);
  return workshop_reply({{"events", told}, {"holds", held}, {"link_losses", snapshot->press.link_losses}});
}

Reply falls_due(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto items = service.desk.workshop->falls_due();
  if (!items) return refuse(503, items.problem());
  Json out = Json::array();
  const auto or_null = [](const std::optional<std::int64_t>& value) {
    return value ? Json(*value) : Json(nullptr);
  };
  for (const auto& item : items.value()) {
    std::string about = item.about;
    if (item.kind == workshop::DueKind::gauge_calibration)
      if (const auto gauge = service.desk.workshop->library().gauges.find(item.id);
          gauge != service.desk.workshop->library().gauges.end())
        about = library::name_of(library::gauge_kind_names, gauge->second.kind);
    out.push_back({{"kind", workshop::name_of(item.kind)},
                   {"id", item.id},
                   {"about", about},
                   {"due", day_or_null(item.due_day)},
                   {"days_left", or_null(item.days_left)},
                   {"strokes_left", or_null(item.strokes_left)},
                   {"life_strokes", or_null(item.life_strokes)},
                   {"urgency", workshop::name_of(item.urgency)}});
  }
  return workshop_reply({{"items", out}, {"soon_days", workshop::soon_days}});
}

}  // namespace shankwright::hmi
