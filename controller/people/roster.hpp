#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "people/person.hpp"
#include "quantity/result.hpp"

/// Who has which rights, as a pure function of the record's entries of kind "account" in their order.
namespace shankwright::people {

struct Account {
  Person person;
  bool removed = false;     ///< stays known, so that the id never comes to mean somebody else
  std::string pin_digest;   ///< of the PIN that counts; empty: none was ever set, or the person was removed
  std::string code_digest;  ///< of the one-time code that waits to be used; empty: none
  std::int64_t code_until_utc_us = 0;  ///< 0: until the process that issued it ends
  int failures = 0;                    ///< of the newest lock-out that nothing has ended
  std::int64_t locked_until_utc_us = 0;
  /// Sequence of the newest entry that ends this person's sessions: a PIN set, a role lost, a removal.
  std::int64_t sessions_ended_at = 0;
  bool operator==(const Account&) const;
};

struct Roster {
  std::map<std::string, Account> accounts;  ///< by id, removed ones too
  /// The account of somebody who is not removed; null otherwise.
  [[nodiscard]] const Account* account(const std::string& id) const;
  bool operator==(const Roster&) const = default;
};

/// An entry of kind "account" as far as it says who may do what.
struct RosterEntry {
  std::int64_t sequence = 0;
  std::string event, body_json;
};

/// The roster after one more entry. Problem, with the entry as its place, when the body cannot be read or
/// contradicts the roster (somebody unknown, other rights before than there were): then nobody's rights are
/// known any more, and a station must not begin with them.
[[nodiscard]] Result<Roster> apply(Roster roster, const RosterEntry& entry);

/// Whether two people have the same name, roles and qualifications.
[[nodiscard]] bool same_rights(const Person& a, const Person& b);

}  // namespace shankwright::people
