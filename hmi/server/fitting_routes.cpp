#include <nlohmann/json.hpp>

#include "hmi/server/fitting_query.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/station_out.hpp"

namespace shankwright::hmi {
namespace {

Reply act(const Service& service, const Request& request, const Result<ports::Act>& read) {
  if (!read) return refuse(400, read.problem());
  ports::Act whole = read.value();
  whole.serial = request.serial;
  whole.actor = request.person->id;
  return act_reply(service, service.station.act(whole), request);
}

/// An act that carries no values.
Reply plain_act(const Service& service, const Request& request, procedure::Event event) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  ports::Act whole;
  whole.event = std::move(event);
  return act(service, request, whole);
}

}  // namespace

Reply start_fitting(const Service& service, const Request& request) {
  const auto read = read_start(request.body);
  if (!read) return refuse(400, read.problem());
  ports::StartFitting start = read.value();
  start.operator_id = request.person->id;
  return act_reply(service, service.station.start_fitting(start), request, 201);
}

Reply find_fittings(const Service& service, const Request& request) {
  const auto filter = read_fitting_query(request.query);
  if (!filter) return refuse(400, filter.problem());
  ports::FittingFilter one_more = filter.value();
  const std::size_t limit = one_more.limit;
  one_more.limit = limit + 1;  // the row beyond tells whether there is a next page
  const auto found = service.record.find(one_more);
  if (!found) return refuse(503, found.problem());
  const auto& rows = found.value();
  Json fittings = Json::array();
  for (std::size_t i = 0; i < rows.size() && i < limit; ++i) fittings.push_back(to_json(rows[i]));
  Json next_after = rows.size() > limit ? Json(rows[limit - 1].serial) : Json(nullptr);
  Reply reply;
  reply.body = dump_json({{"fittings", std::move(fittings)}, {"next_after", std::move(next_after)}});
  return reply;
}

Reply one_fitting(const Service& service, const Request& request) {
  const auto fitting = service.station.fitting(request.serial);
  if (fitting == nullptr)
    return refuse(404, {"serial", request.serial, "the serial of a fitting this station has on record"});
  Reply reply;
  reply.body = dump_json({{"fitting", to_json(*fitting, *newest(service.station))}});
  return reply;
}

Reply evidence(const Service& service, const Request& request) {
  return act(service, request, read_evidence(request.body));
}

Reply dispose(const Service& service, const Request& request) {
  return act(service, request, read_disposition(request.body));
}

Reply ask_permit(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::RequestPermit{});
}
Reply withdraw_permit(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::Withdraw{});
}
Reply judge(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::Judge{});
}
Reply release(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::Release{});
}
Reply put_aside(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::PutAside{});
}
Reply resume(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::Resume{});
}
Reply hold(const Service& service, const Request& request) {
  return plain_act(service, request, procedure::HoldByOperator{});
}

}  // namespace shankwright::hmi
