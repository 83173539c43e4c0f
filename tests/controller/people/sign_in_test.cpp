#include <catch2/catch.hpp>
#include <random>

#include "people/sign_in.hpp"

// Goal: nobody can try more than the rule allows, whatever they do and whenever; and whoever knows their PIN
// is never kept out for longer than the longest wait. Method: seeded sequences of tries and waits, time moved
// by hand; what may be tried is counted from the requirement, not by the code's own helpers.
using namespace shankwright::people;

namespace {
constexpr std::int64_t second = 1'000'000, minute = 60 * second, hour = 60 * minute;
}

TEST_CASE("five tries are free; then 30 s, twice as long after each, never over 15 min") {
  const SignInLimits limits;
  Tries tries;
  std::int64_t now = 77;
  for (int left = 4; left >= 1; --left) {
    tries = after_failure(tries, now, limits);
    CHECK(wait_us(tries, now) == 0);
    CHECK(tries_left(tries, now, limits) == left);
  }
  for (const std::int64_t wait_s : {30, 60, 120, 240, 480, 900, 900, 900}) {
    tries = after_failure(tries, now, limits);
    CHECK(wait_us(tries, now) == wait_s * second);
    CHECK(tries_left(tries, now, limits) == 0);
    now += wait_s * second - 1;
    CHECK(is_locked(tries, now));
    now += 1;
    CHECK_FALSE(is_locked(tries, now));
    CHECK(tries_left(tries, now, limits) == 1);
  }
}

TEST_CASE("whatever is done, no more tries fail than the rule allows") {
  const std::uint64_t seed = 20310503;
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const SignInLimits limits;
  for (int run = 0; run < 300; ++run) {
    Tries tries;
    std::int64_t now = static_cast<std::int64_t>(random() % 1000), since = now;
    int failed = 0;
    for (int i = 0; i < 400; ++i) {
      now += static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(2 * minute));
      if (wait_us(tries, now) > 0) {
        REQUIRE(wait_us(tries, now) <= limits.wait_us_most);
        continue;
      }
      if (random() % 20 == 0) {  // the right one
        tries = {};
        failed = 0;
        since = now;
        continue;
      }
      tries = after_failure(tries, now, limits);
      ++failed;
      // Five at once, and for each further one the waits of those before: 30, 60, ... 900 s must have passed.
      std::int64_t waited = 0, wait = 30 * second;
      for (int k = 5; k < failed; ++k, wait = std::min(2 * wait, 900 * second)) waited += wait;
      REQUIRE(now - since >= waited);
    }
  }
}

TEST_CASE("nothing overflows for somebody who tries for years") {
  const SignInLimits limits;
  Tries tries;
  std::int64_t now = 0;
  for (int i = 0; i < 100'000; ++i) {
    tries = after_failure(tries, now, limits);
    REQUIRE(wait_us(tries, now) <= limits.wait_us_most);
    now += wait_us(tries, now);
  }
}

TEST_CASE("a lock-out outlives a restart, and a clock set back does not make it longer than the longest") {
  const SignInLimits limits;
  CHECK(restored(5, 20 * second, 1000, limits) == Tries{5, 1000 + 20 * second});
  CHECK(wait_us(restored(9, 365 * 24 * hour, 1000, limits), 1000) == limits.wait_us_most);
  const Tries over = restored(6, -hour, 1000, limits);
  CHECK(wait_us(over, 1000) == 0);
  CHECK(wait_us(after_failure(over, 1000, limits), 1000) == 120 * second);  // the seventh failure
}

TEST_CASE("an address may fail twenty times at once, and then once in 15 s") {
  const std::uint64_t seed = 20310504;
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const SignInLimits limits;
  AddressTries tries;
  std::int64_t now = 5;
  std::vector<std::int64_t> failed;
  for (int i = 0; i < 20'000; ++i) {
    now += static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(20 * second));
    if (random() % 100 == 0) now += hour;
    if (wait_us(tries, now, limits) > 0) continue;
    tries = after_failure(tries, now, limits);
    failed.push_back(now);
    // Over any stretch that ends here: twenty, and one for each 15 s of it.
    for (std::size_t back = 1; back <= 40 && back < failed.size(); ++back) {
      const std::int64_t stretch = now - failed[failed.size() - 1 - back];
      REQUIRE(static_cast<std::int64_t>(back) + 1 <= 20 + stretch / (15 * second) + 1);
    }
  }
  CHECK(failed.size() > 5000);  // and it is not simply closed
}
