#include "hmi/server/json_out.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "hmi/server/names.hpp"
#include "people/roles.hpp"
#include "wording/wording.hpp"

namespace shankwright::hmi {

Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json gap_number(double gap_mm) {
  return gap_mm < 65.5345 ? number(gap_mm) : Json(nullptr);
}

Json force_number(double pressure_bar, std::optional<double> ram_area_mm2) {
  if (!ram_area_mm2) return nullptr;
  return number(std::round(pressure_bar * *ram_area_mm2 * 1e-4 * 1000) / 1000);
}

Json to_json(const recipe::Band& band) {
  return {{"least", number(band.least)}, {"most", number(band.most)}};
}

Json to_json(const procedure::Finding& finding) {
  const auto text = wording::describe(finding);
  return {{"code", wording::name_of(finding.code)}, {"what", text.what},
          {"what_to_do", text.what_to_do},          {"found", number(finding.found)},
          {"least", number(finding.least)},         {"most", number(finding.most)}};
}

Json to_json(const std::vector<procedure::Finding>& findings) {
  Json out = Json::array();
  for (const auto& finding : findings) out.push_back(to_json(finding));
  return out;
}

Json to_json(const library::Person& person) {
  return {{"id", person.id}, {"name", person.name}, {"roles", people::roles_of(person)}};
}

Json press_json(const ports::Snapshot& snapshot, std::optional<double> ram_area_mm2,
                std::int64_t now_monotonic_us) {
  const auto& press = snapshot.press;
  const bool scanned = press.link != ports::LinkState::never_connected;
  const auto bit = [&](unsigned number_of_bit) { return ((press.status >> number_of_bit) & 1U) != 0; };
  std::int64_t age_ms = snapshot.press_age_ms;
  if (scanned) age_ms = std::max(age_ms, (now_monotonic_us - press.at_monotonic_us) / 1000);
  const bool loop_alive = (age_ms - snapshot.press_age_ms) * 1000 <= snapshot_age_most_us;
  return {{"link", name_of(press.link)},
          {"link_problem", press.link_problem},
          {"fresh", snapshot.press_fresh && loop_alive},
          {"age_ms", age_ms},
          {"phase", wording::press_phase(press.phase)},
          {"fault_code", press.fault_code},
          {"fault", wording::press_fault(press.fault_code)},
          {"emergency_circuit_healthy", bit(0)},
          {"guard_closed", bit(1)},
          {"both_hands_on", bit(2)},
          {"pump_running", bit(3)},
          {"dies_home", bit(4)},
          {"dies_closed", bit(5)},
          {"shank_present", bit(6)},
          {"mark_seen", bit(7)},
          {"remote_selected", bit(8)},
          {"mark_sensor_fitted", bit(9)},
          {"angle_encoder_fitted", bit(10)},
          {"position_sensor_fitted", bit(11)},
          {"die_tag", press.die_tag},
          {"angle_deg", number(press.angle_deg)},
          {"oil_temperature_c", number(press.oil_temperature_c)},
          {"pressure_bar", number(press.pressure_bar)},
          {"force_kn", force_number(press.pressure_bar, ram_area_mm2)},
          {"gap_mm", gap_number(press.gap_mm)},
          {"edge_distance_mm", number(press.edge_distance_mm)},
          {"bite_number", press.bite_number},
          {"stroke_total", press.stroke_total},
          {"permit_state", permit_state_name(press.permit_state)},
          {"peak_pressure_bar", number(press.peak_pressure_bar)},
          {"dwell_done_ms", number(press.dwell_done_ms)},
          {"least_gap_mm", gap_number(press.least_gap_mm)},
          {"scan_number", press.number}};
}

}  // namespace shankwright::hmi
