#pragma once
#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "people/person.hpp"

namespace shankwright::people {

/// {"name","roles","qualified":{family: "YYYY-MM-DD"}}
[[nodiscard]] nlohmann::ordered_json rights_json(const Person& person);
/// Back, for the person `id`; nothing when it cannot be read.
[[nodiscard]] std::optional<Person> rights_of(const std::string& id, const nlohmann::ordered_json& rights);

}  // namespace shankwright::people
