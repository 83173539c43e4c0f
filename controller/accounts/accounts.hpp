#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "accounts/secrets.hpp"
#include "people/person.hpp"
#include "people/roster.hpp"
#include "people/sign_in.hpp"
#include "ports/ports.hpp"

/// Accounts with PINs: who may sign in, and who may do what. Rights live in the record (people/roster.hpp);
/// README.md in this folder says what is promised.
namespace shankwright::accounts {

struct Options {
  std::filesystem::path folder;  ///< the data folder: credentials.json lies there
  Cost cost;
  people::SignInLimits limits;
  std::int64_t code_life_us = 24LL * 3600 * 1'000'000;
};

/// What came of trying a PIN or a one-time code.
struct Tried {
  enum class Outcome {
    right,
    wrong,  ///< tries_left more may fail before the next wait
    wait    ///< not looked at: ask again in wait_s
  };
  Outcome outcome = Outcome::wrong;
  int tries_left = 0;
  std::int64_t wait_s = 0;  ///< whole seconds, rounded up; also after the wrong try that began the wait
  [[nodiscard]] bool right() const { return outcome == Outcome::right; }
};

/// In words, for whoever tried; `place` is where it was given. Never of a right one.
[[nodiscard]] Problem problem_of(const Tried& tried, const std::string& place);

/// A person's account as an administrator sees it.
struct Listed {
  people::Person person;
  bool has_pin = false;                ///< one that counts: on record, and its hash is here
  bool code_waits = false;             ///< a one-time code that may still be used
  std::int64_t code_until_utc_us = 0;  ///< its end; 0: with the process that issued it
  bool locked = false;
  int failures = 0;
  std::int64_t wait_s = 0;
};

/// A new one-time code. Told once: only its hash is kept.
struct IssuedCode {
  std::string code;               ///< grouped for reading: "K7QD-2M9P-X4TR"
  std::int64_t until_utc_us = 0;  ///< 0: until this process ends
};

/// All calls may come from any thread. What asks for rights (person(), all(), standing()) never waits for a
/// hash or for the disk. Every change is in the record before it counts; Problems of changes say why not, and
/// then nothing has changed.
class Accounts final : public people::People {
 public:
  static constexpr auto administrator_id = "administrator";

  /// Reads the record's entries of kind "account" and the credentials. Problem when an entry cannot be read
  /// or contradicts the others. Store and clock must outlive it; nobody else appends such entries meanwhile.
  [[nodiscard]] static Result<std::unique_ptr<Accounts>> open(ports::RecordStore& store,
                                                              const ports::Clock& clock, Options options);
  ~Accounts() override;
  Accounts(const Accounts&) = delete;
  Accounts& operator=(const Accounts&) = delete;

  [[nodiscard]] std::optional<people::Person> person(const std::string& id) const override;
  [[nodiscard]] std::vector<people::Person> all() const override;

  // --- the start
  // ---------------------------------------------------------------------------------------------
  struct Enrolled {
    int added = 0;
    std::vector<std::string> notices;  ///< sentences about rows that were left alone
  };
  /// Puts people of the shop's register on record who are not known yet, as "shop register". Whoever is
  /// known, removed people too, is left alone: the record counts, and a notice tells when the register says
  /// otherwise.
  [[nodiscard]] Result<Enrolled> enrol(const std::map<std::string, people::Person>& shop_register);
  [[nodiscard]] bool has_administrator() const;  ///< one with a PIN that counts
  /// A one-time code for the account "administrator", which is made, or given its role back, where needed. It
  /// ends with this process or once used.
  [[nodiscard]] Result<IssuedCode> new_administrator_code(const std::string& actor);
  /// What is wrong with the credentials, found at the start, for everybody to see: sentences.
  [[nodiscard]] std::vector<std::string> notices() const;

  // --- who is there
  // --------------------------------------------------------------------------------------------
  /// Tries a person's PIN, for signing in. An unknown person, or one without a PIN, is answered like one
  /// whose PIN is wrong, after the same work. Failures count for the person and for the address (empty: no
  /// address). Problem only when the machine fails.
  [[nodiscard]] Tried sign_in(const std::string& person, const std::string& pin, const std::string& address);
  /// The same with a one-time code. A right one stays usable until a PIN is set with it.
  [[nodiscard]] Tried sign_in_by_code(const std::string& person, const std::string& code,
                                      const std::string& address);
  /// Asks again for the PIN of somebody who is signed in: before a signature. Failures count like those of
  /// signing in.
  [[nodiscard]] Tried confirm(const std::string& person, const std::string& pin);

  /// What a session stands on: it ends when this is nothing, or sessions_ended_at is another than when it
  /// began.
  struct Standing {
    people::Person person;
    std::int64_t sessions_ended_at = 0;
    std::string code_digest;  ///< of the one-time code that waits; empty: none
  };
  [[nodiscard]] std::optional<Standing> standing(const std::string& person) const;

  /// Sets a PIN for somebody who has signed in with the one-time code of this digest, which is used up by it.
  /// Ends every session of the person, as every change of a PIN does.
  [[nodiscard]] Result<bool> set_pin_by_code(const std::string& person, const std::string& code_digest,
                                             const std::string& pin);
  /// Puts `pin` in the place of `old_pin`. A wrong old PIN counts as a failure.
  struct PinChange {
    Tried old_pin;
    std::optional<Problem> problem;  ///< of the new PIN, or of the disk
    [[nodiscard]] bool done() const { return old_pin.right() && !problem; }
  };
  [[nodiscard]] PinChange change_pin(const std::string& person, const std::string& old_pin,
                                     const std::string& pin);

  // --- administration: `actor` is the administrator's id, or "console"
  // --------------------------------------
  [[nodiscard]] std::vector<Listed> list() const;
  [[nodiscard]] Result<bool> add(const people::Person& person, const std::string& actor);
  /// Refused when it takes the role from the last administrator with a PIN; so is remove().
  [[nodiscard]] Result<bool> change_roles(const std::string& person, const std::vector<std::string>& roles,
                                          const std::string& actor);
  [[nodiscard]] Result<bool> qualify(const std::string& person, const std::string& family,
                                     std::optional<std::int64_t> until_day, const std::string& actor);
  [[nodiscard]] Result<IssuedCode> issue_code(const std::string& person, const std::string& actor);
  [[nodiscard]] Result<bool> unlock(const std::string& person, const std::string& actor);
  [[nodiscard]] Result<bool> remove(const std::string& person, const std::string& actor);

 private:
  struct Inside;
  explicit Accounts(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace shankwright::accounts
