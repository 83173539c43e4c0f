#pragma once
#include <functional>
#include <mutex>

#include "accounts/accounts.hpp"
#include "accounts/credentials.hpp"

namespace shankwright::accounts {

/// Locks are taken in the order trying, changing, seen.
struct Accounts::Inside {
  Inside(ports::RecordStore& the_store, const ports::Clock& the_clock, Options the_options)
      : store(the_store), clock(the_clock), options(std::move(the_options)) {}

  /// What everybody is judged by; replaced whole.
  struct Picture {
    people::Roster roster;
    std::map<std::string, std::string> pins, codes;  ///< encoded hashes that the record stands for, by id
  };
  [[nodiscard]] std::shared_ptr<const Picture> picture() const {
    const std::lock_guard lock(seen);
    return shown;
  }

  // --- changes: `changing` is held
  // ---------------------------------------------------------------------------
  /// Appends one entry and shows what it makes of the roster.
  [[nodiscard]] Result<bool> append(const std::string& actor, std::string_view event,
                                    const std::string& body);
  void show(people::Roster roster);
  /// Puts an encoded hash beside those in the file, lets the record say that it counts, and takes the others
  /// out. Dying between any two of these leaves the file with what the record stands for.
  using List = std::vector<std::string> Credentials::Of::*;
  [[nodiscard]] Result<bool> replace(const std::string& person, List list, const std::string& encoded,
                                     const std::function<Result<bool>()>& record);
  /// Takes out of the file what the record does not stand for.
  void prune();
  [[nodiscard]] bool is_last_administrator(const std::string& person) const;
  [[nodiscard]] Result<bool> set_pin(const std::string& person, const std::string& encoded,
                                     std::string_view by);

  // --- tries: `trying` is held
  // ---------------------------------------------------------------------------------
  enum class Kind { pin, code };
  [[nodiscard]] Tried attempt(Kind kind, const std::string& person, const std::string& secret,
                              const std::string& address);
  [[nodiscard]] people::Tries& tries_of(const std::string& person, bool known);
  void note_failure(const std::string& person, bool known, const std::string& address);
  void note_success(const std::string& person);

  ports::RecordStore& store;
  const ports::Clock& clock;
  const Options options;
  std::vector<std::string> notices;  ///< of the start; never changed after
  std::string dummy;                 ///< an encoded hash of nothing anybody knows

  std::mutex trying;  ///< one hash at a time: each takes much memory, and tries must not overtake each other
  std::map<std::string, people::Tries> tries, tries_of_strangers;
  std::map<std::string, people::AddressTries> addresses;

  std::mutex changing;
  Credentials file;                                    ///< as it is on the disk
  std::map<std::string, std::string> codes_in_memory;  ///< of the console: they end with the process
  bool record_in_doubt = false;  ///< an entry may be there although append() failed: nothing is taken out

  mutable std::mutex seen;
  std::shared_ptr<const Picture> shown;
};

[[nodiscard]] inline Problem nobody(const std::string& person) {
  return {"person", person, "the id of a person with an account here"};
}

}  // namespace shankwright::accounts
