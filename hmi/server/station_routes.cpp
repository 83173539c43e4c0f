#include <nlohmann/json.hpp>

#include "hmi/server/control_routes.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/station_out.hpp"
#include "review/time.hpp"

namespace shankwright::hmi {
namespace {

Reply order(const Service& service, const Request& request, ports::PressOrder::Kind kind) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  return act_reply(service, service.station.press_order(kind, request.person->id), request);
}

}  // namespace

Reply station(const Service& service, const Request& request) {
  Json whole = station_json(service, *newest(service.station));
  whole["control"] = control_json(service, request.token);
  Reply reply;
  reply.body = dump_json(whole);
  return reply;
}

Reply library_listing(const Service& service, const Request&) {
  const std::int64_t today = service.clock.utc_us() / review::us_per_day;
  Reply reply;
  reply.body = dump_json(library_json(service.library, service.shop, service.people.all(), today));
  return reply;
}

Reply open_dies(const Service& service, const Request& request) {
  return order(service, request, ports::PressOrder::Kind::open_dies);
}

Reply clear_fault(const Service& service, const Request& request) {
  return order(service, request, ports::PressOrder::Kind::clear_fault);
}

Reply zero_pressure(const Service& service, const Request& request) {
  return order(service, request, ports::PressOrder::Kind::zero_pressure);
}

}  // namespace shankwright::hmi
