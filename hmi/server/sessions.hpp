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
  static constexpr std::int64_t confirmed_us_most = 60'000'000;  ///< how long a PIN given again stays fresh

  struct Life {
    std::int64_t idle_us_most = 12LL * 3600 * 1'000'000;   ///< a shift
    std::int64_t whole_us_most = 16LL * 3600 * 1'000'000;  ///< however busy
  };
  /// Whose session it is, and on what it stands.
  struct Bearer {
    std::string person_id;
    /// Accounts::Standing::sessions_ended_at when it began: the session has ended when that is another.
    std::int64_t sessions_ended_at = 0;
    /// Not empty: opened by the one-time code of this digest, and good for setting a PIN and nothing else.
    std::string code_digest;
    bool operator==(const Bearer&) const = default;
  };

  Sessions() = default;
  explicit Sessions(Life life) : life_(life) {}

  /// A new token, 64 hexadecimal digits. The same person may hold several.
  [[nodiscard]] std::string open(const Bearer& bearer, std::int64_t now_us);
  /// Who is behind a token, or nothing. Using a session keeps it alive.
  [[nodiscard]] std::optional<Bearer> find(const std::string& token, std::int64_t now_us);
  /// As find(), but looking does not keep it alive.
  [[nodiscard]] std::optional<Bearer> peek(const std::string& token, std::int64_t now_us) const;
  void close(const std::string& token);

  /// Notes that the PIN was given again, and takes that note for one signature.
  void confirm(const std::string& token, std::int64_t now_us);
  [[nodiscard]] bool take_confirmation(const std::string& token, std::int64_t now_us);

 private:
  struct Session {
    Bearer bearer;
    std::int64_t opened_us = 0, used_us = 0;
    std::optional<std::int64_t> confirmed_us;
  };
  [[nodiscard]] bool ended(const Session& session, std::int64_t now_us) const {
    return now_us - session.used_us > life_.idle_us_most || now_us - session.opened_us > life_.whole_us_most;
  }
  const Life life_;
  mutable std::mutex mutex_;
  std::map<std::string, Session> sessions_;
};

}  // namespace shankwright::hmi
