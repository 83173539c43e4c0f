#pragma once
#include "hmi/server/json_out.hpp"
#include "hmi/server/routes.hpp"

namespace shankwright::hmi {

/// Who holds control of the press, as a screen with this session is told; null when nobody does.
[[nodiscard]] Json control_json(const Service& service, const std::string& token);

/// Answers a route that drives the press: takes control when nobody holds it, 409 when another screen does. A
/// request that was not understood leaves control where it was.
[[nodiscard]] Reply answer_in_control(const Service& service, const Route& route, const Request& request);

}  // namespace shankwright::hmi
