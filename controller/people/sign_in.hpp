#pragma once
#include <cstdint>

/// When a further try of a PIN or code may be made. Pure: the time comes in, microseconds of any one clock.
/// While somebody must wait, tries are refused unlooked at and do not count.
namespace shankwright::people {

struct SignInLimits {
  int free_tries = 5;  ///< so many may fail before the first wait
  std::int64_t first_wait_us = 30'000'000;
  std::int64_t wait_us_most = 900'000'000;     ///< each wait is twice the one before, up to this
  int address_tries = 20;                      ///< so many may fail from one address at once
  std::int64_t address_again_us = 15'000'000;  ///< and then one more each
};

/// What failed since the last success, of one person.
struct Tries {
  int failed = 0;
  std::int64_t locked_until_us = 0;  ///< 0 or past: not locked
  bool operator==(const Tries&) const = default;
};

[[nodiscard]] std::int64_t wait_us(const Tries& tries, std::int64_t now_us);  ///< 0: a try may be made
/// After a try that failed. From the free tries on, each failure locks.
[[nodiscard]] Tries after_failure(Tries tries, std::int64_t now_us, const SignInLimits& limits);
[[nodiscard]] bool is_locked(const Tries& tries, std::int64_t now_us);
/// How many may still fail before the next wait; 0 while waiting, 1 after the first wait.
[[nodiscard]] int tries_left(const Tries& tries, std::int64_t now_us, const SignInLimits& limits);
/// As a lock-out on record says, after a restart: `left_us` of it are left by the wall clock, which may have
/// been set meanwhile, so never longer than the longest wait.
[[nodiscard]] Tries restored(int failed, std::int64_t left_us, std::int64_t now_us,
                             const SignInLimits& limits);

/// The same of one address, whoever is tried from there: failures drain away with time.
struct AddressTries {
  std::int64_t drained_at_us = 0;  ///< when all failures will have drained away
  bool operator==(const AddressTries&) const = default;
};
[[nodiscard]] std::int64_t wait_us(const AddressTries& tries, std::int64_t now_us,
                                   const SignInLimits& limits);
[[nodiscard]] AddressTries after_failure(AddressTries tries, std::int64_t now_us, const SignInLimits& limits);

}  // namespace shankwright::people
