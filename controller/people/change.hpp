#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "people/roster.hpp"

/// The bodies of entries of kind "account", for whoever appends them: what was and what is now, as JSON texts
/// that people can read. Each takes the account as it stands before. roster.hpp reads them back.
namespace shankwright::people {

/// Event names. Stored on disk: never rename one.
namespace event {
inline constexpr std::string_view person_added = "person_added", roles_changed = "roles_changed",
                                  qualification_changed = "qualification_changed",
                                  code_issued = "code_issued", pin_set = "pin_set", locked_out = "locked_out",
                                  unlocked = "unlocked", removed = "removed";
}

[[nodiscard]] std::string person_added_body(const Person& after);
[[nodiscard]] std::string roles_changed_body(const Account& before, const std::vector<std::string>& after);
/// `until` is the last day, or nothing: not qualified.
[[nodiscard]] std::string qualification_changed_body(const Account& before, const std::string& family,
                                                     std::optional<std::int64_t> until_day);
/// `digest` is BLAKE2b-256, in hexadecimal, of the encoded hash kept elsewhere; no expiry (0) ends with the
/// process that issued it.
[[nodiscard]] std::string code_issued_body(const Account& before, const std::string& digest,
                                           std::int64_t until_utc_us);
/// `by` is what the person proved themselves with: "code" or "pin".
[[nodiscard]] std::string pin_set_body(const Account& before, const std::string& digest, std::string_view by);
[[nodiscard]] std::string locked_out_body(const Account& before, int failures, std::int64_t until_utc_us,
                                          const std::string& from_address);
/// `why` is "signed in" or "by an administrator".
[[nodiscard]] std::string unlocked_body(const Account& before, std::string_view why);
[[nodiscard]] std::string removed_body(const Account& before);

}  // namespace shankwright::people
