#include "hmi/server/signature.hpp"

#include <nlohmann/json.hpp>

#include "hmi/server/json_text.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/sessions.hpp"

namespace shankwright::hmi {

Reply refuse_tried(const accounts::Tried& tried, const std::string& place, int status_wrong) {
  const Problem problem = accounts::problem_of(tried, place);
  const bool waits = tried.outcome == accounts::Tried::Outcome::wait;
  Reply reply;
  reply.status = waits ? 429 : status_wrong;
  reply.body = dump_json(
      {{"problem", {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}}},
       {"tries_left", tried.tries_left},
       {"wait_s", tried.wait_s}});
  if (waits) reply.headers.emplace_back("Retry-After", std::to_string(tried.wait_s));
  return reply;
}

std::optional<Reply> refuse_unsigned(const Service& service, const Request& request,
                                     const std::optional<std::string>& pin) {
  if (!pin) {
    if (service.sessions.take_confirmation(request.token, service.clock.monotonic_us())) return std::nullopt;
    return refuse(
        403, {"/pin", "nothing", "the PIN of " + request.person->id + " once more: it is the signature"});
  }
  const auto tried = service.accounts.confirm(request.person->id, *pin);
  if (tried.right()) return std::nullopt;
  return refuse_tried(tried, "/pin", 403);
}

}  // namespace shankwright::hmi
