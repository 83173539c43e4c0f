#include "people/sign_in.hpp"

#include <algorithm>

namespace shankwright::people {

std::int64_t wait_us(const Tries& tries, std::int64_t now_us) {
  return std::max<std::int64_t>(0, tries.locked_until_us - now_us);
}

bool is_locked(const Tries& tries, std::int64_t now_us) {
  return wait_us(tries, now_us) > 0;
}

Tries after_failure(Tries tries, std::int64_t now_us, const SignInLimits& limits) {
  ++tries.failed;
  if (tries.failed < limits.free_tries) return tries;
  std::int64_t wait = std::min(limits.first_wait_us, limits.wait_us_most);
  for (int over = tries.failed - limits.free_tries; over > 0 && wait < limits.wait_us_most; --over)
    wait = std::min(wait * 2, limits.wait_us_most);
  tries.locked_until_us = now_us + wait;
  return tries;
}

int tries_left(const Tries& tries, std::int64_t now_us, const SignInLimits& limits) {
  if (is_locked(tries, now_us)) return 0;
  return std::max(1, limits.free_tries - tries.failed);
}

Tries restored(int failed, std::int64_t left_us, std::int64_t now_us, const SignInLimits& limits) {
  return {failed, now_us + std::clamp<std::int64_t>(left_us, 0, limits.wait_us_most)};
}

std::int64_t wait_us(const AddressTries& tries, std::int64_t now_us, const SignInLimits& limits) {
  // One more failure must leave no more undrained than address_tries of them.
  const std::int64_t room = (limits.address_tries - 1) * limits.address_again_us;
  return std::max<std::int64_t>(0, tries.drained_at_us - now_us - room);
}

AddressTries after_failure(AddressTries tries, std::int64_t now_us, const SignInLimits& limits) {
  tries.drained_at_us = std::max(tries.drained_at_us, now_us) + limits.address_again_us;
  return tries;
}

}  // namespace shankwright::people
