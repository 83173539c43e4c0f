#include "simulators/operator/enrolment.hpp"

#include <fmt/format.h>

#include "simulators/operator/json_client.hpp"

namespace shankwright::demo {
namespace {

const std::string prefix = "/api/v1";
const std::string administrator = "administrator";

Json wanted(const Reply& reply, const std::string& what) {
  if (!reply.ok()) throw Stuck(fmt::format("the station does not {}: {}", what, problem_text(reply)));
  return reply.body;
}

/// First sign-in: the code opens a session that can do one thing, set a PIN. The token of the one after.
std::string set_pin(const std::string& station_url, const std::string& person, const std::string& code,
                    const std::string& pin) {
  JsonClient http("station", station_url);
  http.use_token(wanted(http.post(prefix + "/session", {{"person", person}, {"code", code}}),
                        "take the one-time code of " + person)
                     .at("token"));
  return wanted(http.post(prefix + "/session/pin", {{"pin", pin}}), "set the PIN of " + person).at("token");
}

}  // namespace

DemoPins enrol(const std::string& station_url, const std::string& pins_file, const std::string& code) {
  DemoPins pins(pins_file);
  JsonClient http("station", station_url);
  // Drawn and kept before the station hears of it: whatever stops the demo in between, a second run can go
  // on.
  const std::string pin = pins.drawn_for(administrator);
  if (!code.empty())
    http.use_token(set_pin(station_url, administrator, code, pin));
  else
    http.use_token(wanted(http.post(prefix + "/session", {{"person", administrator}, {"pin", pin}}),
                          "sign the administrator in with the PIN in " + pins_file)
                       .at("token"));
  const Json listed = wanted(http.get(prefix + "/people"), "list its people");
  for (const Json& person : listed.at("people")) {
    const std::string id = person.at("id");
    if (id == administrator || (person.at("has_pin") == true && !pins.of(id).empty())) continue;
    const Json issued = wanted(http.post(prefix + "/people/" + id + "/code"), "issue a code for " + id);
    set_pin(station_url, id, issued.at("code"), pins.drawn_for(id));
  }
  return pins;
}

std::string pins_text(const std::string& station_url, const DemoPins& pins) {
  JsonClient http("station", station_url);
  std::string out;
  const Json library = wanted(http.get(prefix + "/library"), "list its people");
  for (const Json& person : library.at("people")) {
    std::string roles;
    for (const auto& role : person.at("roles"))
      roles += (roles.empty() ? "" : ", ") + role.get<std::string>();
    const std::string id = person.at("id");
    out += fmt::format("  {:<16} {:<14} PIN {:<6} {}\n", person.at("name").get<std::string>(), id,
                       pins.of(id), roles);
  }
  return out;
}

}  // namespace shankwright::demo
