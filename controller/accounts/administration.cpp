#include <fmt/format.h>

#include <algorithm>

#include "accounts/inside.hpp"
#include "people/change.hpp"
#include "people/pin.hpp"
#include "people/roles.hpp"

namespace shankwright::accounts {
namespace {

/// What the record calls others than people.
constexpr std::string_view taken_ids[] = {"station", "console"};

bool is_taken(const std::string& id) {
  return std::find(std::begin(taken_ids), std::end(taken_ids), id) != std::end(taken_ids);
}

std::optional<Problem> check_new(const people::Person& person) {
  if (!people::is_person_id(person.id))
    return Problem{"id", person.id, "small letters, digits and hyphens, at most 64, no hyphen first"};
  if (is_taken(person.id)) return Problem{"id", person.id, "an id that the record does not use for itself"};
  const bool plain = std::none_of(person.name.begin(), person.name.end(),
                                  [](unsigned char c) { return c < 0x20 || c == 0x7F; });
  if (person.name.find_first_not_of(' ') == std::string::npos || person.name.size() > 100 || !plain)
    return Problem{"name", person.name.substr(0, 100), "a name of 1 to 100 bytes on one line"};
  return std::nullopt;
}

}  // namespace

bool Accounts::Inside::is_last_administrator(const std::string& person) const {
  const auto now = picture();
  const auto counts = [&](const std::string& id, const people::Account& account) {
    return !account.removed && account.person.administrator_role && now->pins.contains(id);
  };
  const auto* account = now->roster.account(person);
  if (account == nullptr || !counts(person, *account)) return false;
  return std::none_of(now->roster.accounts.begin(), now->roster.accounts.end(),
                      [&](const auto& one) { return one.first != person && counts(one.first, one.second); });
}

Result<Accounts::Enrolled> Accounts::enrol(const std::map<std::string, people::Person>& shop_register) {
  const std::lock_guard lock(inside_->changing);
  Enrolled out;
  for (const auto& [id, person] : shop_register) {
    const auto picture = inside_->picture();
    const auto known = picture->roster.accounts.find(id);
    if (known == picture->roster.accounts.end()) {
      if (is_taken(id) || id == administrator_id) {
        out.notices.push_back(fmt::format(
            "\"{}\" in the shop's register is left out: the station keeps this id for itself.", id));
        continue;
      }
      people::Person without = person;
      without.administrator_role = false;  // a file gives nobody that
      if (auto added = inside_->append("shop register", people::event::person_added,
                                       people::person_added_body(without));
          !added)
        return added.problem();
      ++out.added;
    } else if (known->second.removed) {
      out.notices.push_back(fmt::format(
          "\"{}\" in the shop's register was removed by an administrator: the record counts.", id));
    } else if (!people::same_rights(known->second.person, person)) {
      out.notices.push_back(fmt::format(
          "The shop's register says otherwise of \"{}\" than the record: the record counts.", id));
    }
  }
  return out;
}

Result<IssuedCode> Accounts::new_administrator_code(const std::string& actor) {
  const std::string id = administrator_id, code = fresh_code();
  std::string encoded;
  {
    const std::lock_guard lock(inside_->trying);
    encoded = hashed(code, inside_->options.cost);
  }
  const std::lock_guard lock(inside_->changing);
  auto picture = inside_->picture();
  if (picture->roster.account(id) == nullptr) {
    people::Person person;
    person.id = id;
    person.name = "Administrator";
    if (const auto before = picture->roster.accounts.find(id); before != picture->roster.accounts.end())
      person.name = before->second.person.name;
    person.administrator_role = true;
    if (auto added = inside_->append(actor, people::event::person_added, people::person_added_body(person));
        !added)
      return added.problem();
  }
  picture = inside_->picture();
  if (const auto* account = picture->roster.account(id); !account->person.administrator_role) {
    auto roles = people::roles_of(account->person);
    roles.emplace_back("administrator");
    if (auto given =
            inside_->append(actor, people::event::roles_changed, people::roles_changed_body(*account, roles));
        !given)
      return given.problem();
  }
  picture = inside_->picture();
  inside_->codes_in_memory[id] = encoded;
  if (auto issued =
          inside_->append(actor, people::event::code_issued,
                          people::code_issued_body(*picture->roster.account(id), digest_of(encoded), 0));
      !issued)
    return issued.problem();
  return IssuedCode{people::grouped_code(code), 0};
}

std::vector<Listed> Accounts::list() const {
  const std::lock_guard lock(inside_->trying);
  const auto picture = inside_->picture();
  const std::int64_t now = inside_->clock.monotonic_us(), now_utc = inside_->clock.utc_us();
  std::vector<Listed> out;
  for (const auto& [id, account] : picture->roster.accounts) {
    if (account.removed) continue;
    Listed listed;
    listed.person = account.person;
    listed.has_pin = picture->pins.contains(id);
    listed.code_until_utc_us = account.code_until_utc_us;
    listed.code_waits = picture->codes.contains(id) &&
                        (account.code_until_utc_us == 0 || now_utc <= account.code_until_utc_us);
    if (const auto tries = inside_->tries.find(id); tries != inside_->tries.end()) {
      listed.failures = tries->second.failed;
      listed.locked = people::is_locked(tries->second, now);
      listed.wait_s = (people::wait_us(tries->second, now) + 999'999) / 1'000'000;
    }
    out.push_back(std::move(listed));
  }
  return out;
}

Result<bool> Accounts::add(const people::Person& person, const std::string& actor) {
  if (const auto problem = check_new(person)) return *problem;
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  if (const auto known = picture->roster.accounts.find(person.id); known != picture->roster.accounts.end()) {
    if (!known->second.removed) return Problem{"id", person.id, "an id that nobody has yet"};
    if (known->second.person.name != person.name)
      return Problem{"id", person.id + ", which was " + known->second.person.name + "'s",
                     "an id that never was somebody else's: old evidence carries it"};
  }
  return inside_->append(actor, people::event::person_added, people::person_added_body(person));
}

Result<bool> Accounts::change_roles(const std::string& person, const std::vector<std::string>& roles,
                                    const std::string& actor) {
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  const auto after = people::with_roles(account->person, roles);
  if (!after)
    return Problem{"roles", "a role that there is not",
                   "any of operator, technician, planner, reviewer, administrator"};
  if (people::roles_of(*after) == people::roles_of(account->person)) return true;
  if (!after->administrator_role && inside_->is_last_administrator(person))
    return Problem{"roles", "the last administrator with a PIN",
                   "another administrator who has set a PIN first"};
  return inside_->append(actor, people::event::roles_changed,
                         people::roles_changed_body(*account, people::roles_of(*after)));
}

Result<bool> Accounts::qualify(const std::string& person, const std::string& family,
                               std::optional<std::int64_t> until_day, const std::string& actor) {
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  if (!people::is_person_id(family)) return Problem{"family", family, "the family of some recipe"};
  const auto& now = account->person.qualified_until_day;
  const auto had = now.find(family);
  if ((had == now.end()) ? !until_day : (until_day && had->second == *until_day)) return true;
  return inside_->append(actor, people::event::qualification_changed,
                         people::qualification_changed_body(*account, family, until_day));
}

Result<IssuedCode> Accounts::issue_code(const std::string& person, const std::string& actor) {
  const std::string code = fresh_code();
  std::string encoded;
  {
    const std::lock_guard lock(inside_->trying);
    encoded = hashed(code, inside_->options.cost);
  }
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  const std::int64_t until = inside_->clock.utc_us() + inside_->options.code_life_us;
  const std::string body = people::code_issued_body(*account, digest_of(encoded), until);
  const auto done = inside_->replace(person, &Credentials::Of::codes, encoded, [&] {
    return inside_->append(actor, people::event::code_issued, body);
  });
  if (!done) return done.problem();
  return IssuedCode{people::grouped_code(code), until};
}

Result<bool> Accounts::unlock(const std::string& person, const std::string& actor) {
  const std::lock_guard tries_lock(inside_->trying);
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  if (account->failures > 0) {
    auto unlocked = inside_->append(actor, people::event::unlocked,
                                    people::unlocked_body(*account, "by an administrator"));
    if (!unlocked) return unlocked;
  }
  inside_->tries.erase(person);
  return true;
}

Result<bool> Accounts::remove(const std::string& person, const std::string& actor) {
  const std::lock_guard tries_lock(inside_->trying);
  const std::lock_guard lock(inside_->changing);
  const auto picture = inside_->picture();
  const auto* account = picture->roster.account(person);
  if (account == nullptr) return nobody(person);
  if (inside_->is_last_administrator(person))
    return Problem{"person", "the last administrator with a PIN",
                   "another administrator who has set a PIN first"};
  auto removed = inside_->append(actor, people::event::removed, people::removed_body(*account));
  if (!removed) return removed;
  inside_->codes_in_memory.erase(person);
  inside_->tries.erase(person);
  inside_->prune();
  return true;
}

}  // namespace shankwright::accounts
