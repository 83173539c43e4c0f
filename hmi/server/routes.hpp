#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hmi/server/exchange.hpp"
#include "ports/station_port.hpp"

namespace shankwright::hmi {

/// Who may use a route. Acts that only take away a permission, or keep a fitting from going on, need no more
/// than to know who it was.
enum class Access {
  open,          ///< anybody: nothing changes
  any_session,   ///< signed in, also by a one-time code, with which nothing can be done but set a PIN
  signed_in,     ///< any person with a PIN
  operating,     ///< operator
  tending,       ///< operator or technician
  maintaining,   ///< technician
  reviewing,     ///< reviewer
  planning,      ///< planner
  administering  ///< administrator
};

/// What a route moves, and so wants control of (control.hpp).
enum class Drives {
  nothing,
  press,            ///< the press itself, or which fitting lies at it
  fitting_at_press  ///< the press when {serial} lies at it; a fitting elsewhere is nobody's to guard
};

struct Route {
  std::string_view method;
  std::string_view
      path;  ///< as in openapi.yaml; one {name} matches one or more characters, in {asset} also "/"
  Access access = Access::open;
  Reply (*answer)(const Service&,
                  const Request&) = nullptr;  ///< null: the event stream, which the server runs itself
  Drives drives = Drives::nothing;
};

/// Every route there is. openapi.yaml describes each; a test compares.
[[nodiscard]] const std::vector<Route>& routes();

/// The route for a method and a decoded path, and what its {name} matched. Otherwise, in `allowed`, the
/// methods the path does have: empty means there is no such path. HEAD is answered as GET.
struct Match {
  const Route* route = nullptr;
  std::string parameter;
  std::vector<std::string_view> allowed;
};
[[nodiscard]] Match find_route(std::string_view method, std::string_view path);

/// Answers one request to `route`: session and role first, then the route itself.
[[nodiscard]] Reply answer(const Service& service, const Route& route, const Request& request);

// What the routes' files share.
[[nodiscard]] Reply refuse(int status, const Problem& problem);
[[nodiscard]] Reply act_reply(const Service& service, const ports::ActResult& result, const Request& request,
                              int status_taken = 200);

}  // namespace shankwright::hmi
