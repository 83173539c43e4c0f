#include "hmi/server/control_routes.hpp"

#include <nlohmann/json.hpp>

#include "hmi/server/control.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "review/time.hpp"

/// Control of the press: shown, taken, given up.
namespace shankwright::hmi {
namespace {

Control::Now now(const Service& service) {
  return {service.clock.monotonic_us(), service.clock.utc_us()};
}

/// In the shape of a finding of the procedure, so that whoever shows refusals shows this one too.
Reply refuse_held(const Control::Holder& holder) {
  Reply reply;
  reply.status = 409;
  reply.body =
      dump_json({{"refusals",
                  {{{"code", "control_held_elsewhere"},
                    {"what", holder.person_name + " (" + holder.person_id +
                                 ") holds control of the press at another screen, since " +
                                 review::utc_text(holder.since_utc_us, 0) + "."},
                    {"what_to_do",
                     "Agree with them first. Then they sign out there, or an operator or technician takes "
                     "control over here. "
                     "Withdrawing a permit, opening the dies and putting on hold work from every screen."},
                    {"found", 0},
                    {"least", 0},
                    {"most", 0}}}},
                 {"fitting", nullptr}});
  return reply;
}

}  // namespace

Json control_json(const Service& service, const std::string& token) {
  const auto holder = service.control.holder(service.clock.monotonic_us());
  if (!holder) return nullptr;
  return {{"person", holder->person_id},
          {"name", holder->person_name},
          {"since_utc", review::utc_text(holder->since_utc_us, utc_decimals)},
          {"here", holder->token == token}};
}

Reply answer_in_control(const Service& service, const Route& route, const Request& request) {
  const auto act =
      service.control.begin(request.token, request.person->id, request.person->name, now(service));
  if (!act.granted()) return refuse_held(*act.held_elsewhere());
  Reply reply = route.answer(service, request);
  const bool understood = reply.status < 300 || reply.status == 409;
  if (act.newly_taken() && !understood) service.control.give_up(request.token);
  return reply;
}

Reply take_control(const Service& service, const Request& request) {
  const auto from = read_take_over(request.body);
  if (!from) return refuse(400, from.problem());
  ports::ActResult asked;
  const auto outcome = service.control.take(
      request.token, request.person->id, request.person->name, from.value(), now(service),
      [&](const Control::Holder& holder) {
        asked =
            service.station.take_over_control({request.person->id, holder.person_id, holder.since_utc_us});
        return asked.acceptance == ports::Acceptance::taken;
      });
  if (outcome == Control::TakeOver::refused) return act_reply(service, asked, request);
  if (outcome == Control::TakeOver::held_by_another) {
    // Between the question and this answer control may just have been given up.
    if (const auto holder = service.control.holder(service.clock.monotonic_us())) return refuse_held(*holder);
  }
  Reply reply;
  reply.body = dump_json({{"control", control_json(service, request.token)}});
  return reply;
}

Reply give_up_control(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  service.control.give_up(request.token);
  Reply reply;
  reply.body = dump_json({{"control", control_json(service, request.token)}});
  return reply;
}

}  // namespace shankwright::hmi
