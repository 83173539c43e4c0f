#include <nlohmann/json.hpp>

#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/signature.hpp"
#include "hmi/server/station_out.hpp"
#include "review/dossier.hpp"

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

Reply one_fitting(const Service& service, const Request& request) {
  const auto fitting = service.station.fitting(request.serial);
  if (fitting == nullptr)
    return refuse(404, {"serial", request.serial, "the serial of a fitting this station has on record"});
  Reply reply;
  reply.body = dump_json({{"fitting", to_json(*fitting, *newest(service.station))}});
  return reply;
}

Reply dossier(const Service& service, const Request& request) {
  const auto text = review::dossier_json(service.record, request.serial);
  if (!text) return refuse(text.problem().place == "serial" ? 404 : 503, text.problem());
  Reply reply;
  reply.body = text.value();
  return reply;
}

Reply evidence(const Service& service, const Request& request) {
  return act(service, request, read_evidence(request.body));
}

Reply dispose(const Service& service, const Request& request) {
  const auto read = read_disposition(request.body);
  if (!read) return refuse(400, read.problem());
  if (auto refusal = refuse_unsigned(service, request, read.value().pin)) return *refusal;
  ports::Act whole = read.value().act;
  whole.signed_with_pin = true;
  return act(service, request, whole);
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
