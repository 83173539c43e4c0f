#include "hmi/server/routes.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "hmi/server/control_routes.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/station_out.hpp"

namespace shankwright::hmi {
namespace {

/// What {name} in `pattern` matched of `path`, or nothing when they do not fit. A pattern holds at most one
/// {name}.
std::optional<std::string> match(std::string_view pattern, std::string_view path) {
  const auto open = pattern.find('{');
  if (open == std::string_view::npos) return pattern == path ? std::optional<std::string>("") : std::nullopt;
  const auto close = pattern.find('}', open);
  const std::string_view before = pattern.substr(0, open), after = pattern.substr(close + 1);
  if (path.size() <= before.size() + after.size() || !path.starts_with(before) || !path.ends_with(after))
    return std::nullopt;
  const std::string_view middle = path.substr(before.size(), path.size() - before.size() - after.size());
  const bool slashes_taken = pattern.substr(open, close - open + 1) == "{asset}";
  if (!slashes_taken && middle.find('/') != std::string_view::npos) return std::nullopt;
  return std::string(middle);
}

std::string_view role_wanted(Access access, const library::Person& person) {
  switch (access) {
    case Access::open:
    case Access::any_session:
    case Access::signed_in:
      return "";
    case Access::operating:
      return person.operator_role ? "" : "a person with the role operator";
    case Access::tending:
      return person.operator_role || person.technician_role ? ""
                                                            : "a person with the role operator or technician";
    case Access::maintaining:
      return person.technician_role ? "" : "a person with the role technician";
    case Access::reviewing:
      return person.reviewer_role ? "" : "a person with the role reviewer";
    case Access::planning:
      return person.planner_role ? "" : "a person with the role planner";
    case Access::administering:
      return person.administrator_role ? "" : "a person with the role administrator";
  }
  return "a role of this station";
}

bool drives(const Route& route, const Request& request, const ports::StationPort& station) {
  if (route.drives != Drives::fitting_at_press) return route.drives == Drives::press;
  const auto active = newest(station)->active;
  return active != nullptr && active->serial == request.serial;
}

std::string roles_of(const library::Person& person) {
  std::string out = person.id + " with ";
  const auto roles = to_json(person)["roles"];
  if (roles.empty()) return out + "no role";
  for (std::size_t i = 0; i < roles.size(); ++i) out += (i == 0 ? "" : ", ") + roles[i].get<std::string>();
  return out;
}

}  // namespace

const std::vector<Route>& routes() {
  using A = Access;
  using D = Drives;
  static const std::vector<Route> table = {
      {"POST", "/api/v1/session", A::open, sign_in},
      {"GET", "/api/v1/session", A::any_session, who},
      {"DELETE", "/api/v1/session", A::any_session, sign_out},
      {"POST", "/api/v1/session/pin", A::any_session, set_pin},
      {"POST", "/api/v1/session/confirm", A::signed_in, confirm_pin},
      {"GET", "/api/v1/people", A::administering, list_people},
      {"POST", "/api/v1/people", A::administering, add_person},
      {"POST", "/api/v1/people/{person}/roles", A::administering, change_roles},
      {"POST", "/api/v1/people/{person}/qualification", A::administering, change_qualification},
      {"POST", "/api/v1/people/{person}/code", A::administering, issue_code},
      {"POST", "/api/v1/people/{person}/unlock", A::administering, unlock_person},
      {"POST", "/api/v1/people/{person}/removal", A::administering, remove_person},
      {"GET", "/api/v1/station", A::open, station},
      {"GET", "/api/v1/events", A::open, nullptr},
      {"GET", "/api/v1/library", A::open, library_listing},
      {"POST", "/api/v1/fittings", A::operating, start_fitting, D::press},
      {"GET", "/api/v1/fittings", A::open, find_fittings},
      {"GET", "/api/v1/fittings.csv", A::open, export_csv},
      {"GET", "/api/v1/fittings.json", A::open, export_json},
      {"GET", "/api/v1/fittings/{serial}", A::open, one_fitting},
      {"GET", "/api/v1/fittings/{serial}/dossier", A::open, dossier},
      {"GET", "/api/v1/fittings/{serial}/dossier.pdf", A::open, dossier_pages},
      {"GET", "/api/v1/fittings/{serial}/certificate", A::open, certificate},
      {"GET", "/api/v1/fittings/{serial}/label.svg", A::open, fitting_label},
      {"POST", "/api/v1/fittings/{serial}/evidence", A::operating, evidence, D::fitting_at_press},
      {"POST", "/api/v1/fittings/{serial}/permit", A::operating, ask_permit, D::fitting_at_press},
      {"DELETE", "/api/v1/fittings/{serial}/permit", A::signed_in, withdraw_permit},
      {"POST", "/api/v1/fittings/{serial}/judge", A::operating, judge, D::fitting_at_press},
      {"POST", "/api/v1/fittings/{serial}/release", A::operating, release, D::fitting_at_press},
      {"POST", "/api/v1/fittings/{serial}/aside", A::operating, put_aside, D::fitting_at_press},
      {"POST", "/api/v1/fittings/{serial}/resume", A::operating, resume, D::press},
      {"POST", "/api/v1/fittings/{serial}/hold", A::signed_in, hold},
      {"POST", "/api/v1/fittings/{serial}/disposition", A::reviewing, dispose},
      {"POST", "/api/v1/fittings/{serial}/corrections", A::signed_in, correct},
      {"GET", "/api/v1/fittings/{serial}/integrity", A::open, fitting_integrity},
      {"GET", "/api/v1/integrity", A::open, integrity},
      {"POST", "/api/v1/integrity", A::reviewing, verify_whole},
      {"GET", "/api/v1/jobs", A::open, list_jobs},
      {"POST", "/api/v1/jobs", A::planning, enter_job},
      {"POST", "/api/v1/jobs/check", A::planning, check_job},
      {"GET", "/api/v1/jobs/{job}", A::open, one_job},
      {"POST", "/api/v1/jobs/{job}", A::planning, change_job},
      {"POST", "/api/v1/jobs/{job}/withdrawal", A::planning, withdraw_job},
      {"GET", "/api/v1/jobs/{job}/sheet", A::open, cut_sheet},
      {"GET", "/api/v1/jobs/{job}/table.csv", A::open, job_table},
      {"GET", "/api/v1/quarantine", A::open, list_quarantined},
      {"POST", "/api/v1/quarantine", A::signed_in, quarantine},
      {"POST", "/api/v1/quarantine/lift", A::reviewing, lift_quarantine},
      {"POST", "/api/v1/shift/end", A::signed_in, end_shift},
      {"POST", "/api/v1/press/control", A::tending, take_control},
      {"DELETE", "/api/v1/press/control", A::signed_in, give_up_control},
      {"POST", "/api/v1/press/open-dies", A::signed_in, open_dies},
      {"POST", "/api/v1/press/clear-fault", A::tending, clear_fault, D::press},
      {"POST", "/api/v1/press/zero-pressure", A::tending, zero_pressure, D::press},
      {"GET", "/api/v1/workshop/calibration", A::open, force_calibration},
      {"POST", "/api/v1/workshop/calibration", A::maintaining, begin_force_calibration},
      {"POST", "/api/v1/workshop/calibration/runs", A::maintaining, begin_force_run},
      {"POST", "/api/v1/workshop/calibration/readings", A::maintaining, take_force_reading},
      {"POST", "/api/v1/workshop/calibration/finish", A::maintaining, finish_force_calibration},
      {"POST", "/api/v1/workshop/calibration/leave", A::maintaining, leave_force_calibration},
      {"GET", "/api/v1/workshop/health", A::open, press_health},
      {"GET", "/api/v1/workshop/due", A::open, falls_due},
      {"GET", "/api/v1/workshop/trial", A::open, trial_state},
      {"POST", "/api/v1/workshop/trial", A::maintaining, start_trial},
      {"DELETE", "/api/v1/workshop/trial", A::maintaining, cancel_trial},
      {"GET", "/api/v1/workshop/trial/report", A::open, trial_report},
      {"GET", "/api/v1/workshop/drafts", A::open, list_drafts},
      {"POST", "/api/v1/workshop/drafts", A::maintaining, make_draft},
      {"GET", "/api/v1/workshop/drafts/{draft}", A::open, one_draft},
      {"POST", "/api/v1/workshop/drafts/{draft}/release", A::reviewing, release_draft},
      {"POST", "/api/v1/workshop/drafts/{draft}/drop", A::maintaining, drop_draft},
      {"GET", "/openapi.yaml", A::open, openapi},
      {"GET", "/api/v1/openapi.yaml", A::open, openapi},
      {"GET", "/", A::open, page},
      {"GET", "/{asset}", A::open, page},
  };
  return table;
}

Match find_route(std::string_view method, std::string_view path) {
  const std::string_view wanted = method == "HEAD" ? "GET" : method;
  Match out;
  for (const auto& route : routes()) {
    // Under /api/ nothing is a file of the page.
    if (route.path == "/{asset}" && (path.starts_with("/api/") || !out.allowed.empty())) continue;
    const auto parameter = match(route.path, path);
    if (!parameter) continue;
    if (route.method == wanted) return {&route, *parameter, {}};
    out.allowed.push_back(route.method);
  }
  return out;
}

Reply refuse(int status, const Problem& problem) {
  Reply reply;
  reply.status = status;
  reply.body = problem_body(problem);
  return reply;
}

Reply answer(const Service& service, const Route& route, const Request& request) {
  if (route.access != Access::open) {
    if (!request.person)
      return refuse(401,
                    {"session", request.token.empty() ? "no session" : "a session that has ended",
                     "a session: POST /api/v1/session, then its cookie or Authorization: Bearer <token>"});
    if (!request.code_digest.empty() && route.access != Access::any_session)
      return refuse(403, {"session", request.person->id + ", signed in by a one-time code",
                          "a PIN set with it first: POST /api/v1/session/pin"});
    if (const auto wanted = role_wanted(route.access, *request.person); !wanted.empty())
      return refuse(403, {"session", roles_of(*request.person), std::string(wanted)});
  }
  return drives(route, request, service.station) ? answer_in_control(service, route, request)
                                                 : route.answer(service, request);
}

Reply act_reply(const Service& service, const ports::ActResult& result, const Request& request,
                int status_taken) {
  const auto fitting =
      result.fitting != nullptr ? to_json(*result.fitting, *newest(service.station)) : Json(nullptr);
  Reply reply;
  switch (result.acceptance) {
    case ports::Acceptance::taken:
      reply.status = status_taken;
      reply.body = dump_json({{"fitting", fitting}, {"findings", to_json(result.findings)}});
      return reply;
    case ports::Acceptance::refused:
      reply.status = 409;
      reply.body = dump_json({{"refusals", to_json(result.findings)}, {"fitting", fitting}});
      return reply;
    case ports::Acceptance::unknown_serial:
      return refuse(404, {"serial", request.serial, "the serial of a fitting this station has on record"});
    case ports::Acceptance::station_fault:
      break;
  }
  return refuse(503, result.fault);
}

}  // namespace shankwright::hmi
