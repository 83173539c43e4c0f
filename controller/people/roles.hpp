#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "people/person.hpp"

namespace shankwright::people {

/// A role by the name the record and the HTTP interface use. Stored on disk: never rename one.
struct NamedRole {
  std::string_view name;
  bool Person::*held;
};
inline constexpr std::array<NamedRole, 5> role_names = {{{"operator", &Person::operator_role},
                                                         {"technician", &Person::technician_role},
                                                         {"planner", &Person::planner_role},
                                                         {"reviewer", &Person::reviewer_role},
                                                         {"administrator", &Person::administrator_role}}};

[[nodiscard]] std::vector<std::string> roles_of(const Person& person);  ///< in the order above
/// The person with exactly these roles; nothing when one of them is no role.
[[nodiscard]] std::optional<Person> with_roles(Person person, const std::vector<std::string>& roles);

/// "2031-05-04" of a day since 1970-01-01, and back; only that form, only days that there are, years 1970 to
/// 9999.
[[nodiscard]] std::string day_text(std::int64_t day);
[[nodiscard]] std::optional<std::int64_t> day_of(std::string_view text);

/// Small letters, digits and hyphens, 1 to 64, no hyphen first: what an id of a person looks like.
[[nodiscard]] bool is_person_id(std::string_view text);

}  // namespace shankwright::people
