#include "hmi/server/names.hpp"

#include <array>
#include <vector>

#include "library/nearest.hpp"

namespace shankwright::hmi {

std::string_view name_of(ports::LinkState link) {
  switch (link) {
    case ports::LinkState::never_connected:
      return "never_connected";
    case ports::LinkState::connected:
      return "connected";
    case ports::LinkState::stale:
      return "stale";
    case ports::LinkState::lost:
      return "lost";
  }
  return "never_connected";
}

std::string_view permit_state_name(std::uint16_t state) {
  constexpr std::array<std::string_view, 6> names = {"none", "taken",     "refused",
                                                     "used", "withdrawn", "expired"};
  return state < names.size() ? names[state] : "unknown";
}

std::string expected_one_of(std::string_view given, std::span<const std::string_view> known) {
  if (known.empty()) return "nothing here";
  std::string out = "one of ";
  for (std::size_t i = 0; i < known.size(); ++i) out += (i == 0 ? "" : ", ") + std::string(known[i]);
  const std::string near = library::nearest(given, std::vector<std::string>(known.begin(), known.end()));
  if (!near.empty()) out += "; the nearest is \"" + near + "\"";
  return out;
}

}  // namespace shankwright::hmi
