#include <nlohmann/json.hpp>

#include "hmi/server/care_in.hpp"
#include "hmi/server/control.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/route_answers.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/station_out.hpp"
#include "review/time.hpp"
#include "wording/wording.hpp"

/// Quarantine, corrections, the end of a shift.
namespace shankwright::hmi {
namespace {

/// Taken: 200 with what is (or would be) held and what is released; refused: 409 with every reason beside it.
Reply quarantine_reply(const ports::QuarantineResult& result, bool preview) {
  if (result.acceptance == ports::Acceptance::station_fault) return refuse(503, result.fault);
  const bool taken = result.acceptance == ports::Acceptance::taken;
  Json body = {{"preview", preview},
               {"held", result.held},
               {"released", result.released},
               {"refusals", to_json(result.findings)}};
  Reply reply;
  reply.status = taken ? 200 : 409;
  reply.body = dump_json(body);
  return reply;
}

}  // namespace

Reply list_quarantined(const Service& service, const Request&) {
  Json items = Json::array();
  for (const auto& item : service.station.quarantined())
    items.push_back({{"item", wording::name_of(item.item)},
                     {"id", item.id},
                     {"reason", item.reason},
                     {"by", item.actor},
                     {"at_utc", item.at_utc_us == 0 ? Json(nullptr)
                                                    : Json(review::utc_text(item.at_utc_us, utc_decimals))},
                     {"in_shop_file", item.in_shop_file}});
  Reply reply;
  reply.body = dump_json({{"items", items}});
  return reply;
}

Reply quarantine(const Service& service, const Request& request) {
  const auto read = read_quarantine(request.body, true);
  if (!read) return refuse(400, read.problem());
  ports::QuarantineAsked asked = read.value().asked;
  asked.actor = request.person->id;
  return quarantine_reply(
      read.value().preview ? service.station.quarantine_preview(asked) : service.station.quarantine(asked),
      read.value().preview);
}

Reply lift_quarantine(const Service& service, const Request& request) {
  const auto read = read_quarantine(request.body, false);
  if (!read) return refuse(400, read.problem());
  ports::QuarantineAsked asked = read.value().asked;
  asked.actor = request.person->id;
  return quarantine_reply(service.station.lift_quarantine(asked), false);
}

Reply correct(const Service& service, const Request& request) {
  const auto read = read_correction(request.body);
  if (!read) return refuse(400, read.problem());
  ports::Correction correction = read.value();
  correction.serial = request.serial;
  correction.actor = request.person->id;
  return act_reply(service, service.station.correct(correction), request, 201);
}

Reply end_shift(const Service& service, const Request& request) {
  if (const auto nothing = read_nothing(request.body); !nothing) return refuse(400, nothing.problem());
  const auto result = service.station.end_shift(request.person->id);
  if (result.acceptance == ports::Acceptance::taken) service.control.give_up(request.token);
  return act_reply(service, result, request);
}

}  // namespace shankwright::hmi
