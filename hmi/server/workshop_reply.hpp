#pragma once
#include "hmi/server/json_out.hpp"
#include "hmi/server/routes.hpp"

namespace shankwright::hmi {

[[nodiscard]] Reply refuse_no_workshop();
[[nodiscard]] Reply workshop_reply(const Json& body, int status = 200);
/// 503 where record, disk or file are at fault, else 422: understood, and not to be done as things stand.
[[nodiscard]] Reply refuse_of(const Problem& problem);

}  // namespace shankwright::hmi
