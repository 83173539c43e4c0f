#include "hmi/server/sessions.hpp"

#include <sys/random.h>

#include <algorithm>
#include <array>
#include <stdexcept>

namespace shankwright::hmi {
namespace {

std::string random_token() {
  std::array<unsigned char, 32> bytes{};
  // 32 bytes never come short once the kernel's pool is up (getrandom(2)); anything else is a broken machine.
  if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size()))
    throw std::runtime_error("the kernel gave no random bytes for a session");
  constexpr std::string_view digits = "0123456789abcdef";
  std::string token;
  for (const unsigned byte : bytes) {
    token += digits[byte >> 4];
    token += digits[byte & 15U];
  }
  return token;
}

}  // namespace

std::string Sessions::open(const Bearer& bearer, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  if (sessions_.size() >= held_most) {
    const auto oldest =
        std::min_element(sessions_.begin(), sessions_.end(),
                         [](const auto& a, const auto& b) { return a.second.used_us < b.second.used_us; });
    sessions_.erase(oldest);
  }
  std::string token = random_token();
  sessions_[token] = Session{bearer, now_us, now_us, std::nullopt};
  return token;
}

std::optional<Sessions::Bearer> Sessions::find(const std::string& token, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  const auto found = sessions_.find(token);
  if (found == sessions_.end()) return std::nullopt;
  auto& session = found->second;
  if (ended(session, now_us)) {
    sessions_.erase(found);
    return std::nullopt;
  }
  session.used_us = now_us;
  return session.bearer;
}

std::optional<Sessions::Bearer> Sessions::peek(const std::string& token, std::int64_t now_us) const {
  const std::lock_guard lock(mutex_);
  const auto found = sessions_.find(token);
  if (found == sessions_.end() || ended(found->second, now_us)) return std::nullopt;
  return found->second.bearer;
}

void Sessions::close(const std::string& token) {
  const std::lock_guard lock(mutex_);
  sessions_.erase(token);
}

void Sessions::confirm(const std::string& token, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  if (const auto found = sessions_.find(token); found != sessions_.end()) found->second.confirmed_us = now_us;
}

bool Sessions::take_confirmation(const std::string& token, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  const auto found = sessions_.find(token);
  if (found == sessions_.end() || !found->second.confirmed_us) return false;
  const bool fresh = now_us - *found->second.confirmed_us <= confirmed_us_most;
  found->second.confirmed_us.reset();
  return fresh;
}

}  // namespace shankwright::hmi
