#include <algorithm>
#include <nlohmann/json.hpp>

#include "accounts/accounts.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/station_out.hpp"
#include "people/roles.hpp"
#include "review/time.hpp"

// Who may do what, for an administrator.
namespace shankwright::hmi {
namespace {

Json listed_json(const accounts::Listed& listed) {
  Json qualified = Json::object();
  for (const auto& [family, day] : listed.person.qualified_until_day)
    qualified[family] = people::day_text(day);
  Json out = to_json(listed.person);
  out["qualified"] = std::move(qualified);
  out["has_pin"] = listed.has_pin;
  out["code_waits"] = listed.code_waits;
  out["code_until_utc"] = listed.code_waits && listed.code_until_utc_us != 0
                              ? Json(review::utc_text(listed.code_until_utc_us, 0))
                              : Json(nullptr);
  out["tries_failed"] = listed.failures;
  out["locked_for_s"] = listed.wait_s;
  return out;
}

/// The person as it now stands, or 404 when there is none.
Reply person_reply(const Service& service, const std::string& id, int status) {
  for (const auto& listed : service.accounts.list())
    if (listed.person.id == id) {
      Reply reply;
      reply.status = status;
      reply.body = dump_json({{"person", listed_json(listed)}});
      return reply;
    }
  return refuse(404, {"person", id, "the id of a person with an account here"});
}

/// What cannot be done as it was asked is a 400 at its member; what the disk refused is a 503.
Reply refuse_change(const Problem& problem) {
  static constexpr std::string_view members[] = {"id", "name", "roles", "family"};
  if (problem.place == "person") return refuse(400, problem);
  const bool asked = std::find(std::begin(members), std::end(members), problem.place) != std::end(members);
  return asked ? refuse(400, {"/" + problem.place, problem.found, problem.expected}) : refuse(503, problem);
}

/// A change of the person of the path: 404 for nobody, then the change, then the person as it stands.
template <typename Change>
Reply change(const Service& service, const Request& request, const Change& make) {
  if (!service.people.person(request.serial))
    return refuse(404, {"person", request.serial, "the id of a person with an account here"});
  const Result<bool> made = make();
  if (!made) return refuse_change(made.problem());
  return person_reply(service, request.serial, 200);
}

/// A family that no recipe has qualifies for nothing. Judged only when every recipe could be read.
std::optional<Problem> check_family(const Service& service, const std::string& family) {
  if (!service.library.faults.empty()) return std::nullopt;
  std::vector<std::string_view> known;
  for (const auto& [id, recipe] : service.library.recipes)
    if (std::find(known.begin(), known.end(), recipe.family) == known.end()) known.push_back(recipe.family);
  if (std::find(known.begin(), known.end(), family) != known.end()) return std::nullopt;
  return Problem{"/family", family, expected_one_of(family, known)};
}

}  // namespace

Reply list_people(const Service& service, const Request&) {
  Json people = Json::array();
  for (const auto& listed : service.accounts.list()) people.push_back(listed_json(listed));
  Reply reply;
  reply.body = dump_json({{"people", std::move(people)}});
  return reply;
}

Reply add_person(const Service& service, const Request& request) {
  const auto person = read_new_person(request.body);
  if (!person) return refuse(400, person.problem());
  for (const auto& [family, day] : person.value().qualified_until_day)
    if (const auto problem = check_family(service, family))
      return refuse(400, {"/qualified", problem->found, problem->expected});
  const auto added = service.accounts.add(person.value(), request.person->id);
  if (!added) return refuse_change(added.problem());
  return person_reply(service, person.value().id, 201);
}

Reply change_roles(const Service& service, const Request& request) {
  const auto roles = read_roles(request.body);
  if (!roles) return refuse(400, roles.problem());
  return change(service, request, [&] {
    return service.accounts.change_roles(request.serial, roles.value(), request.person->id);
  });
}

Reply change_qualification(const Service& service, const Request& request) {
  const auto read = read_qualification(request.body);
  if (!read) return refuse(400, read.problem());
  const auto& [family, until_day] = read.value();
  if (until_day)
    if (const auto problem = check_family(service, family)) return refuse(400, *problem);
  return change(service, request, [&] {
    return service.accounts.qualify(request.serial, family, until_day, request.person->id);
  });
}

Reply issue_code(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  if (!service.people.person(request.serial))
    return refuse(404, {"person", request.serial, "the id of a person with an account here"});
  const auto issued = service.accounts.issue_code(request.serial, request.person->id);
  if (!issued) return refuse_change(issued.problem());
  Reply reply;
  reply.body = dump_json({{"person", request.serial},
                          {"code", issued.value().code},
                          {"until_utc", review::utc_text(issued.value().until_utc_us, 0)}});
  return reply;
}

Reply unlock_person(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  return change(service, request,
                [&] { return service.accounts.unlock(request.serial, request.person->id); });
}

Reply remove_person(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  if (!service.people.person(request.serial))
    return refuse(404, {"person", request.serial, "the id of a person with an account here"});
  const auto removed = service.accounts.remove(request.serial, request.person->id);
  if (!removed) return refuse_change(removed.problem());
  Reply reply;
  reply.body = dump_json({{"person", nullptr}});
  return reply;
}

}  // namespace shankwright::hmi
