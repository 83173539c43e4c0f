#include "people/roles.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>

namespace shankwright::people {

std::vector<std::string> roles_of(const Person& person) {
  std::vector<std::string> out;
  for (const auto& role : role_names)
    if (person.*role.held) out.emplace_back(role.name);
  return out;
}

std::optional<Person> with_roles(Person person, const std::vector<std::string>& roles) {
  for (const auto& role : role_names) person.*role.held = false;
  for (const auto& name : roles) {
    const auto found = std::find_if(role_names.begin(), role_names.end(),
                                    [&](const NamedRole& role) { return role.name == name; });
    if (found == role_names.end()) return std::nullopt;
    person.*(found->held) = true;
  }
  return person;
}

std::string day_text(std::int64_t day) {
  const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{day}}};
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return text;
}

std::optional<std::int64_t> day_of(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto number = [&](std::size_t at, std::size_t size) {
    int value = 0;
    for (const char c : text.substr(at, size)) {
      if (c < '0' || c > '9') return -1;
      value = value * 10 + (c - '0');
    }
    return value;
  };
  const int year = number(0, 4), month = number(5, 2), day = number(8, 2);
  if (year < 1970 || month < 1 || day < 1) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_days{date}.time_since_epoch().count();
}

bool is_person_id(std::string_view text) {
  if (text.empty() || text.size() > 64 || text.front() == '-') return false;
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}

}  // namespace shankwright::people
