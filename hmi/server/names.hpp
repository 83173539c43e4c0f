#pragma once
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "ports/ports.hpp"

/// Names of the press's values as the HTTP interface spells them, and what to say of a name that is not
/// known.
namespace shankwright::hmi {

[[nodiscard]] std::string_view name_of(ports::LinkState link);
[[nodiscard]] std::string_view permit_state_name(std::uint16_t state);  ///< press-map.md, "unknown" beyond it

/// "one of a, b, c; the nearest is "b"". All are listed, however many: whoever asks has no other list at
/// hand.
[[nodiscard]] std::string expected_one_of(std::string_view given, std::span<const std::string_view> known);

}  // namespace shankwright::hmi
