#include "people/roster.hpp"

#include <nlohmann/json.hpp>

#include "people/change.hpp"
#include "people/rights_json.hpp"
#include "people/roles.hpp"

namespace shankwright::people {
namespace {

using Json = nlohmann::ordered_json;

/// What makes an entry unreadable; caught in apply() and told with the entry's place.
struct Unreadable {
  std::string found, expected;
};

std::string text(const Json& body, const char* key) {
  const auto found = body.find(key);
  if (found == body.end() || !found->is_string())
    throw Unreadable{"no text \"" + std::string(key) + "\"", "one"};
  return found->get<std::string>();
}

std::string text_or_none(const Json& body, const char* key) {
  const auto found = body.find(key);
  if (found == body.end()) throw Unreadable{"no \"" + std::string(key) + "\"", "one"};
  return found->is_null() ? "" : text(body, key);
}

const Json& part(const Json& body, const char* key) {
  const auto found = body.find(key);
  if (found == body.end()) throw Unreadable{"no \"" + std::string(key) + "\"", "one"};
  return *found;
}

std::int64_t whole(const Json& body, const char* key) {
  const Json& value = part(body, key);
  if (value.is_null()) return 0;
  if (!value.is_number_integer()) throw Unreadable{"no whole number \"" + std::string(key) + "\"", "one"};
  return value.get<std::int64_t>();
}

Person rights(const std::string& id, const Json& body, const char* key) {
  const auto person = rights_of(id, part(body, key));
  if (!person)
    throw Unreadable{"rights \"" + std::string(key) + "\" that cannot be read", "name, roles, qualified"};
  return *person;
}

std::vector<std::string> roles(const Json& body, const char* key) {
  const Json& list = part(body, key);
  if (!list.is_array()) throw Unreadable{"no list \"" + std::string(key) + "\"", "roles"};
  std::vector<std::string> out;
  for (const auto& role : list) {
    if (!role.is_string()) throw Unreadable{"a role that is no text", "roles"};
    out.push_back(role.get<std::string>());
  }
  return out;
}

void must_be(bool agrees, const char* what) {
  if (!agrees)
    throw Unreadable{std::string(what) + " before that the entries until then do not give",
                     "a roster in which each change begins where the last one ended"};
}

bool took_a_role(const Person& before, const Person& after) {
  for (const auto& role : role_names)
    if (before.*role.held && !(after.*role.held)) return true;
  return false;
}

void add(Roster& roster, const std::string& id, const Json& body) {
  if (!is_person_id(id))
    throw Unreadable{"a person's id \"" + id + "\"", "small letters, digits and hyphens"};
  const Person person = rights(id, body, "after");
  const auto known = roster.accounts.find(id);
  must_be(known == roster.accounts.end() || known->second.removed, "nobody of this id");
  if (known != roster.accounts.end())
    must_be(known->second.person.name == person.name, "another person of this id");
  const std::int64_t ended = known == roster.accounts.end() ? 0 : known->second.sessions_ended_at;
  Account account;
  account.person = person;
  account.sessions_ended_at = ended;
  roster.accounts[id] = account;
}

void change(Account& account, const RosterEntry& entry, const Json& body) {
  Person& person = account.person;
  if (entry.event == event::roles_changed) {
    must_be(roles(body, "before") == roles_of(person), "roles");
    const auto after = with_roles(person, roles(body, "after"));
    if (!after) throw Unreadable{"a role nobody can have", "roles of this program"};
    if (took_a_role(person, *after)) account.sessions_ended_at = entry.sequence;
    person = *after;
  } else if (entry.event == event::qualification_changed) {
    const std::string family = text(body, "family"), before = text_or_none(body, "before"),
                      after = text_or_none(body, "after");
    const auto had = person.qualified_until_day.find(family);
    must_be(before == (had == person.qualified_until_day.end() ? "" : day_text(had->second)),
            "a qualification");
    const auto day = day_of(after);
    if (!after.empty() && !day) throw Unreadable{"\"" + after + "\"", "a day"};
    if (day)
      person.qualified_until_day[family] = *day;
    else
      person.qualified_until_day.erase(family);
  } else if (entry.event == event::code_issued) {
    must_be(text_or_none(body, "before") == account.code_digest, "a code");
    account.code_digest = text(part(body, "after"), "blake2b_256");
    account.code_until_utc_us = whole(part(body, "after"), "until_utc_us");
  } else if (entry.event == event::pin_set) {
    must_be(text_or_none(body, "before") == account.pin_digest, "a PIN");
    account.pin_digest = text(body, "after");
    account.code_digest.clear();  // single use: the PIN it set ends it
    account.code_until_utc_us = 0;
    account.sessions_ended_at = entry.sequence;
  } else if (entry.event == event::locked_out) {
    account.failures = static_cast<int>(whole(part(body, "after"), "failures"));
    account.locked_until_utc_us = whole(part(body, "after"), "until_utc_us");
  } else if (entry.event == event::unlocked) {
    account.failures = 0;
    account.locked_until_utc_us = 0;
  } else if (entry.event == event::removed) {
    must_be(same_rights(rights(person.id, body, "before"), person), "rights");
    Account gone;
    gone.person.id = person.id;
    gone.person.name = person.name;
    gone.removed = true;
    gone.sessions_ended_at = entry.sequence;
    account = gone;
  } else {
    throw Unreadable{"the event \"" + entry.event + "\"", "one this program knows"};
  }
}

}  // namespace

bool Account::operator==(const Account& other) const {
  return person.id == other.person.id && same_rights(person, other.person) && removed == other.removed &&
         pin_digest == other.pin_digest && code_digest == other.code_digest &&
         code_until_utc_us == other.code_until_utc_us && failures == other.failures &&
         locked_until_utc_us == other.locked_until_utc_us && sessions_ended_at == other.sessions_ended_at;
}

const Account* Roster::account(const std::string& id) const {
  const auto found = accounts.find(id);
  return found == accounts.end() || found->second.removed ? nullptr : &found->second;
}

bool same_rights(const Person& a, const Person& b) {
  return a.name == b.name && roles_of(a) == roles_of(b) && a.qualified_until_day == b.qualified_until_day;
}

Json rights_json(const Person& person) {
  Json qualified = Json::object();
  for (const auto& [family, day] : person.qualified_until_day) qualified[family] = day_text(day);
  return {{"name", person.name}, {"roles", roles_of(person)}, {"qualified", std::move(qualified)}};
}

std::optional<Person> rights_of(const std::string& id, const Json& json) {
  if (!json.is_object() || !json.contains("name") || !json["name"].is_string()) return std::nullopt;
  if (!json.contains("roles") || !json["roles"].is_array()) return std::nullopt;
  Person person;
  person.id = id;
  person.name = json["name"].get<std::string>();
  std::vector<std::string> roles;
  for (const auto& role : json["roles"]) {
    if (!role.is_string()) return std::nullopt;
    roles.push_back(role.get<std::string>());
  }
  const auto with = with_roles(person, roles);
  if (!with) return std::nullopt;
  person = *with;
  if (!json.contains("qualified") || !json["qualified"].is_object()) return std::nullopt;
  for (const auto& [family, until] : json["qualified"].items()) {
    const auto day = until.is_string() ? day_of(until.get<std::string>()) : std::nullopt;
    if (!day) return std::nullopt;
    person.qualified_until_day[family] = *day;
  }
  return person;
}

Result<Roster> apply(Roster roster, const RosterEntry& entry) {
  try {
    const Json body = Json::parse(entry.body_json, nullptr, false);
    if (!body.is_object()) throw Unreadable{"a body that is no JSON object", "one"};
    const std::string id = text(body, "person");
    if (entry.event == event::person_added) {
      add(roster, id, body);
      return roster;
    }
    const auto found = roster.accounts.find(id);
    if (found == roster.accounts.end() || found->second.removed)
      throw Unreadable{"a change of \"" + id + "\", who is not there", "somebody added before"};
    change(found->second, entry, body);
    return roster;
  } catch (const Unreadable& unreadable) {
    return Problem{"record entry " + std::to_string(entry.sequence) + " (account, " + entry.event + ")",
                   unreadable.found, unreadable.expected};
  }
}

}  // namespace shankwright::people
