#pragma once
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>

namespace shankwright::hmi {

/// Who is signed in. Tokens are 256 random bits from the kernel, kept in memory only: a restart signs
/// everybody out. Safe from any thread. Times are Clock::monotonic_us().
class Sessions {
 public:
  static constexpr std::size_t held_most = 64;  ///< the longest unused is signed out beyond this
  static constexpr std::int64_t idle_most_us = 12LL * 3600 * 1'000'000;  ///< a shift

  /// Signs `person_id` in and returns the new token, 64 hexadecimal digits. The same person may hold several.
  [[nodiscard]] std::string open(const std::string& person_id, std::int64_t now_us);
  /// The person behind a token, or nothing. Using a session keeps it alive.
  [[nodiscard]] std::optional<std::string> person_of(const std::string& token, std::int64_t now_us);
  void close(const std::string& token);

 private:
  struct Session {
    std::string person_id;
    std::int64_t used_us = 0;
  };
  std::mutex mutex_;
  std::map<std::string, Session> sessions_;
};

}  // namespace shankwright::hmi
