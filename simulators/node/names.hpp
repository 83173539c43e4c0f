#pragma once
#include <string_view>

#include "simulators/node/register_map.hpp"

/// The map's codes as words, for the bench page and the command line.
namespace shankwright::node {

[[nodiscard]] constexpr std::string_view name_of(Phase phase) {
  constexpr std::string_view names[] = {"stopped", "open",    "permitted", "closing",
                                        "holding", "opening", "faulted"};
  return names[static_cast<std::size_t>(phase)];
}

[[nodiscard]] constexpr std::string_view name_of(Fault fault) {
  constexpr std::string_view names[] = {
      "none",          "emergency stop",    "guard opened",    "hands released",
      "over-pressure", "station beat lost", "stroke time-out", "pressure sensor",
      "gap sensor",    "oil temperature",   "permit expired"};
  return names[static_cast<std::size_t>(fault)];
}

[[nodiscard]] constexpr std::string_view name_of(PermitState state) {
  constexpr std::string_view names[] = {"none", "taken", "refused", "used", "withdrawn", "expired"};
  return names[static_cast<std::size_t>(state)];
}

}  // namespace shankwright::node
