#include <nlohmann/json.hpp>

#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/sessions.hpp"
#include "hmi/server/station_out.hpp"

namespace shankwright::hmi {
namespace {

// Strict: no other site's page makes a browser send it. HttpOnly: no script of ours needs it.
constexpr std::string_view cookie_attributes = "; Path=/; HttpOnly; SameSite=Strict";

}  // namespace

Reply sign_in(const Service& service, const Request& request) {
  const auto id = read_sign_in(request.body);
  if (!id) return refuse(400, id.problem());
  const auto person = service.shop.people.find(id.value());
  if (person == service.shop.people.end())
    return refuse(401, {"/person", id.value(), "the id of a person in the shop's register"});
  const std::string token = service.sessions.open(person->first, service.clock.monotonic_us());
  Reply reply;
  reply.body = dump_json({{"token", token}, {"person", to_json(person->second)}});
  reply.headers.emplace_back("Set-Cookie", "shankwright_session=" + token + std::string(cookie_attributes));
  return reply;
}

Reply who(const Service&, const Request& request) {
  Reply reply;
  reply.body = dump_json({{"person", to_json(*request.person)}});
  return reply;
}

Reply sign_out(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  service.sessions.close(request.token);
  Reply reply;
  reply.body = dump_json({{"person", nullptr}});
  reply.headers.emplace_back("Set-Cookie",
                             "shankwright_session=; Max-Age=0" + std::string(cookie_attributes));
  return reply;
}

}  // namespace shankwright::hmi
