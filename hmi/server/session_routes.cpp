#include <nlohmann/json.hpp>

#include "accounts/accounts.hpp"
#include "hmi/server/control.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/sessions.hpp"
#include "hmi/server/signature.hpp"
#include "hmi/server/station_out.hpp"
#include "people/pin.hpp"

namespace shankwright::hmi {
namespace {

// Strict: no other site's page makes a browser send it. HttpOnly: no script of ours needs it. Secure where
// the page itself came by https; over plain HTTP a browser would drop the cookie.
std::string cookie(const Request& request, const std::string& value) {
  return "shankwright_session=" + value + "; Path=/; HttpOnly; SameSite=Strict" +
         (request.over_tls ? "; Secure" : "");
}

/// Whoever signs in where a session is open leaves that one.
void end_session_before(const Service& service, const Request& request) {
  if (request.token.empty()) return;
  service.control.give_up(request.token);
  service.sessions.close(request.token);
}

Reply signed_in(const Service& service, const Request& request, const accounts::Accounts::Standing& standing,
                bool by_code) {
  end_session_before(service, request);
  const Sessions::Bearer bearer{standing.person.id, standing.sessions_ended_at,
                                by_code ? standing.code_digest : ""};
  const std::string token = service.sessions.open(bearer, service.clock.monotonic_us());
  Reply reply;
  reply.body = dump_json({{"token", token}, {"person", to_json(standing.person)}, {"must_set_pin", by_code}});
  reply.headers.emplace_back("Set-Cookie", cookie(request, token));
  return reply;
}

Reply ended() {
  return refuse(401, {"session", "a session that has ended", "a new one: POST /api/v1/session"});
}

}  // namespace

Reply sign_in(const Service& service, const Request& request) {
  const auto read = read_sign_in(request.body);
  if (!read) return refuse(400, read.problem());
  const auto& [person, pin, code] = read.value();
  const bool by_code = !code.empty();
  const auto tried = by_code ? service.accounts.sign_in_by_code(person, code, request.address)
                             : service.accounts.sign_in(person, pin, request.address);
  if (!tried.right()) return refuse_tried(tried, by_code ? "/code" : "/pin", 401);
  const auto standing = service.accounts.standing(person);
  if (!standing || (by_code && standing->code_digest.empty())) return ended();  // removed, or used, meanwhile
  return signed_in(service, request, *standing, by_code);
}

Reply who(const Service&, const Request& request) {
  Reply reply;
  reply.body =
      dump_json({{"person", to_json(*request.person)}, {"must_set_pin", !request.code_digest.empty()}});
  return reply;
}

Reply sign_out(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  end_session_before(service, request);
  Reply reply;
  reply.body = dump_json({{"person", nullptr}});
  reply.headers.emplace_back("Set-Cookie", cookie(request, "; Max-Age=0"));
  return reply;
}

Reply set_pin(const Service& service, const Request& request) {
  const bool by_code = !request.code_digest.empty();
  const auto read = read_new_pin(request.body, !by_code);
  if (!read) return refuse(400, read.problem());
  const std::string& id = request.person->id;
  if (by_code) {
    if (auto problem = people::check_pin(read.value().pin, id)) {
      problem->place = "/pin";
      return refuse(400, *problem);
    }
    const auto set = service.accounts.set_pin_by_code(id, request.code_digest, read.value().pin);
    if (!set && set.problem().place == "code") return refuse(401, set.problem());
    if (!set) return refuse(503, set.problem());
  } else {
    const auto change = service.accounts.change_pin(id, read.value().old_pin, read.value().pin);
    if (!change.old_pin.right()) return refuse_tried(change.old_pin, "/old_pin", 403);
    if (change.problem && change.problem->place.empty())
      return refuse(400, {"/pin", change.problem->found, change.problem->expected});
    if (change.problem) return refuse(503, *change.problem);
  }
  // The change has ended every session of the person, this one too; whoever made it goes on in a new one.
  service.sessions.close(request.token);
  const auto standing = service.accounts.standing(id);
  return standing ? signed_in(service, request, *standing, false) : ended();
}

Reply confirm_pin(const Service& service, const Request& request) {
  const auto pin = read_pin(request.body);
  if (!pin) return refuse(400, pin.problem());
  if (auto refusal = refuse_unsigned(service, request, pin.value())) return *refusal;
  service.sessions.confirm(request.token, service.clock.monotonic_us());
  Reply reply;
  reply.body = dump_json(
      {{"person", to_json(*request.person)}, {"confirmed_for_s", Sessions::confirmed_us_most / 1'000'000}});
  return reply;
}

}  // namespace shankwright::hmi
