#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "cut_list/cut_list.hpp"
#include "hmi/server/body_reader.hpp"
#include "hmi/server/json_out.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "jobs/job_book.hpp"
#include "jobs/job_json.hpp"
#include "jobs/progress.hpp"
#include "library/job.hpp"
#include "review/time.hpp"

/// A planner's jobs: entered, planned, changed, withdrawn, and how far they are.
namespace shankwright::hmi {
namespace {

Reply refuse_missing_book() {
  return refuse(503, {"jobs", "a station without a record of jobs", "a station with its record open"});
}

Reply reply_of(const Json& body, int status = 200) {
  Reply reply;
  reply.status = status;
  reply.body = dump_json(body);
  return reply;
}

/// A job as it reads with the library of this moment, and its plan.
struct Planned {
  std::vector<Problem> faults;  ///< with any, nothing else is filled
  planning::Job job;
  planning::Plan plan;
  [[nodiscard]] bool good() const { return faults.empty() && plan.refusals.empty(); }
};

Planned plan(const Service& service, const nlohmann::json& body) {
  auto read = jobs::read_job(body, service.library);
  Planned out;
  out.faults = std::move(read.faults);
  if (!out.faults.empty()) return out;
  out.job = std::move(read.job);
  out.plan = planning::plan_of(out.job, library::parts_of(service.library));
  return out;
}

cut_list::Document document_of(const Planned& planned) {
  cut_list::Document out;
  out.file = planned.job.id;
  out.job = planned.job;
  out.plan = planned.plan;
  return out;
}

Json faults_json(const std::vector<Problem>& faults) {
  Json out = Json::array();
  for (const auto& fault : faults)
    out.push_back({{"place", fault.place}, {"found", fault.found}, {"expected", fault.expected}});
  return out;
}

template <typename Findings>
Json findings_json(const Findings& findings) {
  Json out = Json::array();
  for (const auto& finding : findings)
    out.push_back({{"code", planning::name_of(finding.code)},
                   {"place", jobs::pointer_of(finding.path)},
                   {"found", finding.found},
                   {"expected", finding.expected}});
  return out;
}

/// As `plan JOB --json` has it, findings at their JSON pointers; null for a job with faults.
Json plan_json(const Planned& planned) {
  if (!planned.faults.empty()) return nullptr;
  auto whole = Json::parse(cut_list::json(document_of(planned)));
  return {{"refusals", findings_json(planned.plan.refusals)},
          {"cautions", findings_json(planned.plan.cautions)},
          {"assemblies", whole["assemblies"]},
          {"bill", whole["bill"]},
          {"standing_cautions", whole["standing_cautions"]}};
}

Json tally_json(const jobs::Tally& tally) {
  return {{"wanted", tally.wanted},       {"released", tally.released}, {"accepted", tally.accepted},
          {"under_way", tally.under_way}, {"held", tally.held},         {"scrapped", tally.scrapped}};
}

Json progress_json(const jobs::Progress& progress) {
  Json lines = Json::array();
  for (const auto& line : progress.lines) {
    Json out = {{"mark", line.mark.empty() ? Json(nullptr) : Json(line.mark)},
                {"recipe", line.recipe},
                {"job_text", line.job_text}};
    out.update(tally_json(line.tally));
    lines.push_back(std::move(out));
  }
  return {{"whole", tally_json(progress.whole)}, {"lines", lines}};
}

Json kept_json(const jobs::KeptJob& kept) {
  const auto body = Json::parse(kept.body_json, nullptr, false);
  const auto text = [&](const char* name) {
    return body.is_object() && body.contains(name) && body[name].is_string() ? body[name].get<std::string>()
                                                                             : std::string();
  };
  return {{"id", kept.id},
          {"title", text("title")},
          {"entry", kept.sequence},
          {"entered_by", kept.entered_by},
          {"entered_utc", review::utc_text(kept.entered_utc_us, utc_decimals)},
          {"changed_by", kept.changed_by},
          {"changed_utc", review::utc_text(kept.changed_utc_us, utc_decimals)},
          {"withdrawn", kept.withdrawn},
          {"reason", kept.reason}};
}

/// What the lines want made, for a list.
Json lines_json(const planning::Job& job) {
  Json out = Json::array();
  for (const auto& assembly : job.assemblies) {
    Json recipes = Json::array();
    for (const auto& end : assembly.ends)
      if (end.making == planning::EndMaking::swaged) recipes.push_back(end.recipe);
    out.push_back({{"mark", assembly.mark},
                   {"quantity", assembly.quantity},
                   {"rope", assembly.rope},
                   {"recipes", std::move(recipes)},
                   {"job_text", job.id + "/" + assembly.mark}});
  }
  return out;
}

Reply whole_job(const Service& service, const jobs::KeptJob& kept, int status) {
  const auto body = nlohmann::json::parse(kept.body_json, nullptr, false);
  const auto planned = plan(service, body);
  Json cuts = Json::array();
  for (const auto& cut : kept.cuts)
    cuts.push_back({{"mark", cut.mark}, {"cut_length_mm", number(cut.cut_length_mm)}});
  Json out = {{"job", kept_json(kept)},
              {"body", Json::parse(kept.body_json, nullptr, false)},
              {"faults", faults_json(planned.faults)},
              {"plan", plan_json(planned)},
              {"cuts_on_record", cuts},
              {"progress", nullptr}};
  if (planned.faults.empty()) {
    const auto progress = jobs::progress_of(planned.job, service.record);
    if (!progress) return refuse(503, progress.problem());
    out["progress"] = progress_json(progress.value());
  }
  return reply_of(out, status);
}

/// Faults are a 400 with all of them beside the first, refusals a 409.
std::optional<Reply> refuse_planned(const Planned& planned) {
  if (!planned.faults.empty()) {
    Json body = Json::parse(problem_body(planned.faults.front()));
    body["faults"] = faults_json(planned.faults);
    return reply_of(body, 400);
  }
  if (planned.plan.refusals.empty()) return std::nullopt;
  const auto& first = planned.plan.refusals.front();
  Json body = Json::parse(problem_body({jobs::pointer_of(first.path), first.found, first.expected}));
  body["refusals"] = findings_json(planned.plan.refusals);
  return reply_of(body, 409);
}

Reply kept_reply(const Service& service, const Result<jobs::KeptJob>& kept, int status) {
  if (kept) return whole_job(service, kept.value(), status);
  const auto& place = kept.problem().place;
  return refuse(place == "/id" || place == "/of" ? 409 : place == "job" ? 404 : 503, kept.problem());
}

Result<jobs::KeptJob> kept_job(const Service& service, const std::string& id) {
  const auto found = service.desk.jobs->find(id);
  if (!found) return found.problem();
  if (!found.value()) return Problem{"job", id, "the id of a job on record"};
  return *found.value();
}

/// ?unit=mm|in and, where `tables` says so, ?table=cuts|account|bill.
struct Form {
  cut_list::LengthUnit unit = cut_list::LengthUnit::mm;
  cut_list::Table table = cut_list::Table::cuts;
};
Result<Form> form_of(const Request& request, bool tables) {
  Form out;
  constexpr std::array<std::string_view, 2> units = {"mm", "in"};
  constexpr std::array<std::string_view, 3> names = {"cuts", "account", "bill"};
  constexpr std::array meant = {cut_list::Table::cuts, cut_list::Table::account, cut_list::Table::bill};
  for (const auto& [key, value] : request.query) {
    if (key == "unit") {
      if (value != "mm" && value != "in")
        return Problem{key, value.substr(0, 80), expected_one_of(value, units)};
      out.unit = value == "in" ? cut_list::LengthUnit::in : cut_list::LengthUnit::mm;
    } else if (key == "table" && tables) {
      const auto found = std::find(names.begin(), names.end(), value);
      if (found == names.end()) return Problem{key, value.substr(0, 80), expected_one_of(value, names)};
      out.table = meant.at(static_cast<std::size_t>(found - names.begin()));
    } else {
      return Problem{key.substr(0, 80), "an unknown parameter", tables ? "unit or table" : "unit"};
    }
  }
  return out;
}

/// The job's plan for a paper: only of what may be cut.
template <typename Make>
Reply paper(const Service& service, const Request& request, bool tables, const Make& make) {
  const auto form = form_of(request, tables);
  if (!form) return refuse(400, form.problem());
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  const auto kept = kept_job(service, request.serial);
  if (!kept) return refuse(kept.problem().place == "job" ? 404 : 503, kept.problem());
  if (kept.value().withdrawn)
    return refuse(
        409, {"job", request.serial + ", withdrawn: " + kept.value().reason, "a job that is to be made"});
  const auto planned = plan(service, nlohmann::json::parse(kept.value().body_json, nullptr, false));
  if (!planned.faults.empty()) return refuse(409, planned.faults.front());
  if (auto refusal = refuse_planned(planned)) return *refusal;
  return make(document_of(planned), form.value());
}

}  // namespace

Reply list_jobs(const Service& service, const Request&) {
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  const auto kept = service.desk.jobs->all();
  if (!kept) return refuse(503, kept.problem());
  Json out = Json::array();
  for (const auto& job : kept.value()) {
    Json row = kept_json(job);
    const auto read = jobs::read_job(nlohmann::json::parse(job.body_json, nullptr, false), service.library);
    // A job that this library no longer reads is listed all the same: it is on record.
    row["can_be_read"] = read.faults.empty();
    row["lines"] = read.faults.empty() ? lines_json(read.job) : Json::array();
    row["progress"] = nullptr;
    if (read.faults.empty()) {
      const auto progress = jobs::progress_of(read.job, service.record);
      if (!progress) return refuse(503, progress.problem());
      row["progress"] = tally_json(progress.value().whole);
    }
    out.push_back(std::move(row));
  }
  return reply_of({{"jobs", out}});
}

Reply one_job(const Service& service, const Request& request) {
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  const auto kept = kept_job(service, request.serial);
  if (!kept) return refuse(kept.problem().place == "job" ? 404 : 503, kept.problem());
  return whole_job(service, kept.value(), 200);
}

Reply check_job(const Service& service, const Request& request) {
  const auto body = parse_json(request.body);
  if (!body) return refuse(400, body.problem());
  const auto planned = plan(service, body.value());
  return reply_of(
      {{"faults", faults_json(planned.faults)}, {"plan", plan_json(planned)}, {"good", planned.good()}});
}

Reply enter_job(const Service& service, const Request& request) {
  const auto body = parse_json(request.body);
  if (!body) return refuse(400, body.problem());
  const auto planned = plan(service, body.value());
  if (auto refusal = refuse_planned(planned)) return *refusal;
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  return kept_reply(
      service, service.desk.jobs->enter(planned.job, planned.plan, body.value().dump(), request.person->id),
      201);
}

Reply change_job(const Service& service, const Request& request) {
  const auto body = parse_json(request.body);
  if (!body) return refuse(400, body.problem());
  constexpr std::array<std::string_view, 2> known = {"of", "job"};
  const BodyReader reader(body.value(), known);
  if (reader.problem()) return refuse(400, *reader.problem());
  const auto of = body.value().find("of"), job = body.value().find("job");
  if (of == body.value().end() || !of->is_number_integer())
    return refuse(400, {"/of", of == body.value().end() ? "no such member" : shown(*of),
                        "the number of the entry that is changed, see the job"});
  if (job == body.value().end())
    return refuse(400, {"/job", "no such member", "the whole job as it is to be"});
  const auto planned = plan(service, *job);
  if (auto refusal = refuse_planned(planned)) return *refusal;
  if (planned.job.id != request.serial)
    return refuse(400, {"/id", planned.job.id, request.serial + ": a job keeps its id"});
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  return kept_reply(service,
                    service.desk.jobs->change(planned.job, planned.plan, job->dump(), of->get<std::int64_t>(),
                                              request.person->id),
                    200);
}

Reply withdraw_job(const Service& service, const Request& request) {
  const auto body = parse_json(request.body);
  if (!body) return refuse(400, body.problem());
  constexpr std::array<std::string_view, 1> known = {"reason"};
  BodyReader reader(body.value(), known);
  const auto reason = reader.free_text("reason", "the reason, up to 2000 bytes of text");
  if (reader.problem()) return refuse(400, *reader.problem());
  if (reason.find_first_not_of(" \t\r\n") == std::string::npos)
    return refuse(400, {"/reason", "nothing", "why nothing more of this job is to be made"});
  if (service.desk.jobs == nullptr) return refuse_missing_book();
  return kept_reply(service, service.desk.jobs->withdraw(request.serial, reason, request.person->id), 200);
}

Reply cut_sheet(const Service& service, const Request& request) {
  return paper(service, request, false, [](const cut_list::Document& document, const Form& form) {
    Reply reply;
    reply.content_type = "text/html; charset=utf-8";
    reply.body = cut_list::sheet(document, form.unit);
    // A page for itself, with its style inside: it may run and fetch nothing, nor be framed.
    reply.headers.emplace_back("Content-Security-Policy",
                               "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action "
                               "'none'; frame-ancestors 'none'; sandbox allow-modals");
    return reply;
  });
}

Reply job_table(const Service& service, const Request& request) {
  return paper(service, request, true, [](const cut_list::Document& document, const Form& form) {
    Reply reply;
    reply.content_type = "text/csv; charset=utf-8";
    reply.body = cut_list::csv(document, form.table, form.unit);
    reply.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + document.job.id + ".csv\"");
    return reply;
  });
}

}  // namespace shankwright::hmi
