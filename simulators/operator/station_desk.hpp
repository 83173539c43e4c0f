#pragma once
#include <string>
#include <vector>

#include "simulators/operator/demo_pins.hpp"
#include "simulators/operator/json_client.hpp"

/// The station, as the operator's page sees it: its public HTTP interface and nothing else.
namespace shankwright::demo {

/// What came of a request about a fitting. A refusal is an answer, not an error.
struct Answer {
  Json fitting;                      ///< as it stands now; null when there is none
  std::vector<std::string> refused;  ///< the station's own sentences; empty when it was taken
  std::vector<std::string> codes;    ///< their codes, in the same order
};

class StationDesk {
 public:
  explicit StationDesk(const std::string& url) : http_("station", url) {}

  /// Signs this person in, or, when empty, the first operator of the station, with the PIN that `pins` has.
  void sign_in(const std::string& person, const DemoPins& pins);

  [[nodiscard]] const Json& library() const { return library_; }
  /// Id of a gauge in date that can read this kind of evidence, the finest first; empty where none is named.
  [[nodiscard]] std::string gauge_for(const std::string& evidence_kind) const;

  [[nodiscard]] Json now();                               ///< GET /station
  [[nodiscard]] Json fitting(const std::string& serial);  ///< as it stands
  /// Waits for the press to be scanned twice more, so that what hands have just done is seen.
  void let_the_press_be_seen();

  Answer start(const Json& body);
  Answer evidence(const std::string& serial, const Json& body);
  /// POST /fittings/{serial}/ACT: permit, judge, release, aside, hold.
  Answer act(const std::string& serial, const std::string& act);
  Answer press_order(const std::string& order);  ///< POST /press/ORDER

 private:
  Answer answer(const Reply& reply, const std::string& asked);

  JsonClient http_;
  Json library_;
};

}  // namespace shankwright::demo
