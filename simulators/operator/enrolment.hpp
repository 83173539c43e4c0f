#pragma once
#include <string>

#include "simulators/operator/demo_pins.hpp"

/// How the demo's people come to their PINs: over the station's public HTTP interface, as in any shop.
namespace shankwright::demo {

/// Sees to it that everybody of the station has the PIN that the file has for them: the administrator by
/// `code` (the station's own, printed at its first start), everybody else by a code of the administrator's.
/// Throws Unreachable or Stuck.
[[nodiscard]] DemoPins enrol(const std::string& station_url, const std::string& pins_file,
                             const std::string& code);

/// A line for each person: name, id, PIN, roles.
[[nodiscard]] std::string pins_text(const std::string& station_url, const DemoPins& pins);

}  // namespace shankwright::demo
