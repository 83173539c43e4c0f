#pragma once
#include <span>
#include <string>
#include <string_view>

#include "ports/ports.hpp"
#include "procedure/event.hpp"
#include "recipe/model.hpp"

/// Names of values as the HTTP interface spells them, and the nearest known name for a misspelt one.
namespace shankwright::hmi {

[[nodiscard]] std::string_view name_of(recipe::Status status);
[[nodiscard]] std::string_view name_of(recipe::Construction construction);  ///< "7x19"
[[nodiscard]] std::string_view name_of(recipe::DieShape shape);
[[nodiscard]] std::string_view name_of(recipe::GaugeKind kind);
[[nodiscard]] std::string_view name_of(ports::LinkState link);
[[nodiscard]] std::string_view permit_state_name(std::uint16_t state);  ///< press-map.md, "unknown" beyond it

/// The known name closest to `given`, or empty when none is close enough to be what was meant.
[[nodiscard]] std::string_view nearest_name(std::string_view given, std::span<const std::string_view> known);
/// "one of: a, b, c", with "did you mean \"b\"?" added when one is close.
[[nodiscard]] std::string expected_one_of(std::string_view given, std::span<const std::string_view> known);

}  // namespace shankwright::hmi
