#include <algorithm>
#include <nlohmann/json.hpp>

#include "hmi/server/body_reader.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/json_text.hpp"
#include "people/roles.hpp"

// Bodies about who signs in and who has which rights.
namespace shankwright::hmi {
namespace {

using Members = std::vector<std::string_view>;
constexpr std::string_view a_pin = "a PIN, as a text of digits";
constexpr std::string_view a_day = "a day, for example \"2031-05-04\", or null: not qualified";
constexpr std::string_view some_roles =
    "an array of roles, each once: operator, technician, planner, reviewer, administrator";

}  // namespace

Result<SignIn> read_sign_in(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"person", "pin", "code"};
  BodyReader reader(json.value(), known);
  SignIn out;
  out.person = reader.text("person", "the id of a person with an account here");
  if (reader.problem()) return *reader.problem();
  if (reader.has("pin") == reader.has("code"))
    return Problem{"", reader.has("pin") ? "both a pin and a code" : "neither a pin nor a code",
                   "the person's PIN, or the one-time code that an administrator has given them"};
  if (reader.has("pin"))
    out.pin = reader.secret("pin", a_pin);
  else
    out.code = reader.secret("code", "a one-time code, as a text");
  if (reader.problem()) return *reader.problem();
  return out;
}

Result<NewPin> read_new_pin(std::string_view body, bool with_old) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = with_old ? Members{"pin", "old_pin"} : Members{"pin"};
  BodyReader reader(json.value(), known);
  NewPin out;
  out.pin = reader.secret("pin", a_pin);
  if (with_old) out.old_pin = reader.secret("old_pin", "the PIN as it is now");
  if (reader.problem()) return *reader.problem();
  return out;
}

Result<std::string> read_pin(std::string_view body) {
  const auto read = read_new_pin(body, false);
  if (!read) return read.problem();
  return read.value().pin;
}

Result<people::Person> read_new_person(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"id", "name", "roles", "qualified"};
  BodyReader reader(json.value(), known);
  people::Person person;
  person.id = reader.text("id", "an id: small letters, digits and hyphens");
  person.name = reader.text("name", "the person's name, 1 to 100 bytes on one line");
  const auto roles = reader.texts("roles", people::role_names.size(), some_roles);
  if (reader.problem()) return *reader.problem();
  const auto with = people::with_roles(person, roles);
  if (!with) return Problem{"/roles", shown(json.value()["roles"]), std::string(some_roles)};
  person = *with;
  if (!reader.has("qualified")) return person;
  const auto& qualified = json.value()["qualified"];
  const Problem wrong{"/qualified", shown(qualified), "families of recipes, each with its last day"};
  if (!qualified.is_object()) return wrong;
  for (const auto& [family, until] : qualified.items()) {
    const auto day = until.is_string() ? people::day_of(until.get<std::string>()) : std::nullopt;
    if (!day || !people::is_person_id(family)) return wrong;
    person.qualified_until_day[family] = *day;
  }
  return person;
}

Result<std::vector<std::string>> read_roles(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  BodyReader reader(json.value(), Members{"roles"});
  auto roles = reader.texts("roles", people::role_names.size(), some_roles);
  if (reader.problem()) return *reader.problem();
  if (!people::with_roles({}, roles))
    return Problem{"/roles", shown(json.value()["roles"]), std::string(some_roles)};
  return roles;
}

Result<Qualification> read_qualification(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"family", "until"};
  BodyReader reader(json.value(), known);
  Qualification out;
  out.family = reader.text("family", "the family of some recipe");
  const auto until = reader.text_or_null("until", a_day);
  if (reader.problem()) return *reader.problem();
  if (!until) return out;
  out.until_day = people::day_of(*until);
  if (!out.until_day) return Problem{"/until", *until, std::string(a_day)};
  return out;
}

}  // namespace shankwright::hmi
