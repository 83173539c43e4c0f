#include <nlohmann/json.hpp>

#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/signature.hpp"
#include "hmi/server/workshop_in.hpp"
#include "hmi/server/workshop_reply.hpp"
#include "review/time.hpp"
#include "trial/report_text.hpp"
#include "workshop/workshop.hpp"

/// Trials in the background, and drafts from a trial to their release.
namespace shankwright::hmi {
namespace {

Json utc_or_null(std::int64_t at_utc_us) {
  return at_utc_us == 0 ? Json(nullptr) : Json(review::utc_text(at_utc_us, utc_decimals));
}

Json problem_json(const Problem& problem) {
  return {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}};
}

Reply trial_reply(const Service& service, int status = 200) {
  const auto state = service.desk.workshop->trials().state();
  return workshop_reply(
      {{"state", workshop::name_of(state.now)},
       {"number", state.number},
       {"recipe", state.recipe},
       {"by", state.by},
       {"fittings", state.fittings},
       {"seed", state.seed},
       {"begun_utc", utc_or_null(state.begun_utc_us)},
       {"section_runs_done", state.runs_done},
       {"section_runs", state.runs_all},
       {"pressing", state.pressing},
       {"report_number", state.report_number},
       {"has_report", service.desk.workshop->trials().report() != nullptr},
       {"problem",
        state.now == workshop::TrialState::Now::failed ? problem_json(state.problem) : Json(nullptr)}},
      status);
}

Json draft_json(const Service& service, const workshop::Draft& draft) {
  const auto in_library = service.desk.workshop->library().recipes.find(draft.recipe);
  const bool in_force = draft.now == workshop::Draft::Now::released &&
                        in_library != service.desk.workshop->library().recipes.end() &&
                        in_library->second.revision >= draft.revision;
  return {{"id", draft.id},
          {"recipe", draft.recipe},
          {"revision", draft.revision},
          {"state", workshop::name_of(draft.now)},
          {"made_by", draft.made_by},
          {"made_utc", utc_or_null(draft.made_utc_us)},
          {"trial",
           {{"seed", draft.seed},
            {"fittings", draft.fittings},
            {"recommended_kn", number(draft.target_kn)},
            {"rejected_share", number(draft.rejected_share)}}},
          {"ended_by", draft.ended_by},
          {"ended_utc", utc_or_null(draft.ended_utc_us)},
          {"reason", draft.reason},
          {"in_force", in_force}};
}

Json problems_json(const std::vector<Problem>& problems) {
  Json out = Json::array();
  for (const auto& problem : problems) out.push_back(problem_json(problem));
  return out;
}

Reply draft_reply(const Service& service, const workshop::Draft& draft, int status = 200) {
  const auto look = service.desk.workshop->drafts().look(draft);
  Json changes = Json::array();
  for (const auto& change : look.changes)
    changes.push_back({{"what", change.what}, {"was", change.was}, {"becomes", change.becomes}});
  Json body = draft_json(service, draft);
  body["text"] = draft.text;
  body["against_revision"] = look.against_revision ? Json(*look.against_revision) : Json(nullptr);
  body["changes"] = changes;
  body["faults"] = problems_json(look.faults);
  body["warnings"] = problems_json(look.warnings);
  return workshop_reply({{"draft", body}}, status);
}

/// 404 for a draft that is not there, 403 for the wrong person, 422 and 503 for the rest.
Reply refuse_draft(const Problem& problem) {
  if (problem.place == "draft") return refuse(404, problem);
  if (problem.place == "person") return refuse(403, problem);
  return refuse_of(problem);
}

}  // namespace

Reply trial_state(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  return trial_reply(service);
}

Reply start_trial(const Service& service, const Request& request) {
  const auto read = read_trial(request.body);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  auto joined = library::join(service.desk.workshop->library(), read.value().recipe);
  if (!joined) joined = library::join_revision(service.desk.workshop->library(), read.value().recipe);
  if (!joined)
    return refuse(400,
                  {"/recipe", read.value().recipe, "the id of a recipe of the library, or ID.rREVISION"});
  trial::WholeTrial wanted;
  wanted.joined = std::move(joined).value();
  wanted.fittings = read.value().fittings;
  wanted.seed = read.value().seed;
  const std::string name = wanted.joined.recipe.id + ".r" + std::to_string(wanted.joined.recipe.revision);
  if (auto problem = service.desk.workshop->trials().start(wanted, name, request.person->id))
    return refuse_of(*problem);
  return trial_reply(service, 202);
}

Reply cancel_trial(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  (void)service.desk.workshop->trials().cancel();
  return trial_reply(service);
}

Reply trial_report(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto report = service.desk.workshop->trials().report();
  if (report == nullptr) return refuse(404, {"trial", "no report", "a trial that has got so far"});
  Reply reply;
  reply.body = trial::to_json(*report);
  return reply;
}

Reply list_drafts(const Service& service, const Request&) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto all = service.desk.workshop->drafts().all();
  if (!all) return refuse(503, all.problem());
  Json out = Json::array();
  for (auto draft = all.value().rbegin(); draft != all.value().rend(); ++draft)
    out.push_back(draft_json(service, *draft));
  return workshop_reply({{"drafts", out}});
}

Reply one_draft(const Service& service, const Request& request) {
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto all = service.desk.workshop->drafts().all();
  if (!all) return refuse(503, all.problem());
  for (const auto& draft : all.value())
    if (draft.id == request.serial) return draft_reply(service, draft);
  return refuse(404, {"draft", request.serial, "a draft on record"});
}

Reply make_draft(const Service& service, const Request& request) {
  const auto number = read_trial_number(request.body);
  if (!number) return refuse(400, number.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto state = service.desk.workshop->trials().state();
  const auto report = service.desk.workshop->trials().report();
  if (state.now != workshop::TrialState::Now::done || state.number != number.value() || report == nullptr)
    return refuse(422, {"/trial", std::to_string(number.value()), "the trial that was finished last"});
  const auto draft = service.desk.workshop->drafts().make(*report, request.person->id);
  return draft ? draft_reply(service, draft.value(), 201) : refuse_draft(draft.problem());
}

Reply release_draft(const Service& service, const Request& request) {
  const auto read = read_reasoned(request.body, true);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  if (auto refusal = refuse_unsigned(service, request, read.value().pin)) return *refusal;
  const auto draft =
      service.desk.workshop->drafts().release(request.serial, read.value().reason, request.person->id);
  return draft ? draft_reply(service, draft.value()) : refuse_draft(draft.problem());
}

Reply drop_draft(const Service& service, const Request& request) {
  const auto read = read_reasoned(request.body, false);
  if (!read) return refuse(400, read.problem());
  if (service.desk.workshop == nullptr) return refuse_no_workshop();
  const auto draft =
      service.desk.workshop->drafts().drop(request.serial, read.value().reason, request.person->id);
  return draft ? draft_reply(service, draft.value()) : refuse_draft(draft.problem());
}

}  // namespace shankwright::hmi
