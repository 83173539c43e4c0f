#include "simulators/operator/station_desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <map>
#include <thread>

namespace shankwright::demo {
namespace {

const std::string prefix = "/api/v1";

/// Kinds of gauge that can read a kind of evidence, the one a careful operator takes first in front.
/// Common practice, no source.
const std::vector<std::string>& gauge_kinds(const std::string& evidence_kind) {
  static const std::vector<std::string> along{"caliper", "depth_rod", "rule", "tape"};
  static const std::vector<std::string> none;
  static const std::map<std::string, std::vector<std::string>> kinds{
      {"rope_diameter", {"caliper", "micrometer"}},
      {"shank_diameter", {"micrometer", "caliper"}},
      {"bore_depth", {"depth_rod", "caliper"}},
      {"depth_mark", along},
      {"boundary_mark", along},
      {"insertion", along},
      {"position", along},
      {"growth", along},
      {"slip", along},
      {"turn", {"protractor"}},
      {"reseated", {"protractor"}},
      {"across_flats", {"micrometer", "caliper"}},
      {"straightness", {"straight_edge"}}};
  const auto found = kinds.find(evidence_kind);
  return found == kinds.end() ? none : found->second;
}

}  // namespace

void StationDesk::sign_in(const std::string& person, const DemoPins& pins) {
  const Reply library = http_.get(prefix + "/library");
  if (!library.ok()) throw Unreachable("the station gives no library: " + problem_text(library));
  library_ = library.body;
  std::string id = person;
  for (const Json& one : library_.at("people")) {
    const Json& roles = one.at("roles");
    if (id.empty() && std::find(roles.begin(), roles.end(), "operator") != roles.end()) id = one.at("id");
  }
  const Reply session = http_.post(prefix + "/session", {{"person", id}, {"pin", pins.of(id)}});
  if (!session.ok())
    throw Stuck(fmt::format("the station does not sign \"{}\" in: {}", id, problem_text(session)));
  http_.use_token(session.body.at("token"));
}

std::string StationDesk::gauge_for(const std::string& evidence_kind) const {
  for (const std::string& kind : gauge_kinds(evidence_kind))
    for (const Json& gauge : library_.at("gauges"))
      if (gauge.at("kind") == kind && gauge.at("in_date") == true) return gauge.at("id");
  return "";
}

Json StationDesk::now() {
  const Reply reply = http_.get(prefix + "/station");
  if (!reply.ok()) throw Unreachable("the station does not show itself: " + problem_text(reply));
  return reply.body;
}

Json StationDesk::fitting(const std::string& serial) {
  const Reply reply = http_.get(prefix + "/fittings/" + serial);
  if (!reply.ok()) throw Stuck(fmt::format("the station does not show {}: {}", serial, problem_text(reply)));
  return reply.body.at("fitting");
}

void StationDesk::let_the_press_be_seen() {
  constexpr int polls_most = 250;  // 5 s
  std::int64_t first = -1;
  for (int poll = 0; poll < polls_most; ++poll) {
    const Json press = now().at("press");
    const auto scan = press.at("scan_number").get<std::int64_t>();
    if (first < 0) first = scan;
    if (scan >= first + 2 && press.at("fresh") == true) return;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  throw Stuck("the station does not see the press");
}

Answer StationDesk::answer(const Reply& reply, const std::string& asked) {
  Answer out;
  if (reply.ok()) {
    out.fitting = reply.body.value("fitting", Json());
    return out;
  }
  if (reply.status != 409 || !reply.body.contains("refusals"))
    throw Stuck(fmt::format("the station does not take {}: {}", asked, problem_text(reply)));
  out.fitting = reply.body.value("fitting", Json());
  for (const Json& finding : reply.body.at("refusals")) {
    out.refused.push_back(finding.at("what"));
    out.codes.push_back(finding.at("code"));
  }
  if (out.refused.empty()) {
    out.refused.emplace_back("no reason given");
    out.codes.emplace_back("none");
  }
  return out;
}

Answer StationDesk::start(const Json& body) {
  return answer(http_.post(prefix + "/fittings", body), "a new fitting");
}
Answer StationDesk::evidence(const std::string& serial, const Json& body) {
  return answer(http_.post(prefix + "/fittings/" + serial + "/evidence", body), "evidence " + body.dump());
}
Answer StationDesk::act(const std::string& serial, const std::string& act) {
  return answer(http_.post(prefix + "/fittings/" + serial + "/" + act), act);
}
Answer StationDesk::press_order(const std::string& order) {
  return answer(http_.post(prefix + "/press/" + order), order);
}

}  // namespace shankwright::demo
