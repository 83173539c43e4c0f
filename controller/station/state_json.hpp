#pragma once
#include <string>

#include "procedure/event.hpp"
#include "procedure/state.hpp"
#include "quantity/result.hpp"

/// How states and events stand in the record. Keys are the members' own names; enumerations go by name, so
/// that a record stays readable without this program. Never rename a key; new ones get a default for older
/// records.
namespace shankwright::station {

[[nodiscard]] std::string to_json(const procedure::State& state);
[[nodiscard]] Result<procedure::State> state_from_json(const std::string& text);

/// The event as a JSON object text: what was offered, with units in the keys.
[[nodiscard]] std::string to_json(const procedure::Event& event);
/// [{"code","found","least","most"}...]
[[nodiscard]] std::string to_json(const std::vector<procedure::Finding>& findings);

}  // namespace shankwright::station
