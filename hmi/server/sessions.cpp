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

std::string Sessions::open(const std::string& person_id, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  if (sessions_.size() >= held_most) {
    const auto oldest =
        std::min_element(sessions_.begin(), sessions_.end(),
                         [](const auto& a, const auto& b) { return a.second.used_us < b.second.used_us; });
    sessions_.erase(oldest);
  }
  std::string token = random_token();
  sessions_[token] = Session{person_id, now_us};
  return token;
}

std::optional<std::string> Sessions::person_of(const std::string& token, std::int64_t now_us) {
  const std::lock_guard lock(mutex_);
  const auto found = sessions_.find(token);
  if (found == sessions_.end()) return std::nullopt;
  if (now_us - found->second.used_us > idle_most_us) {
    sessions_.erase(found);
    return std::nullopt;
  }
  found->second.used_us = now_us;
  return found->second.person_id;
}

void Sessions::close(const std::string& token) {
  const std::lock_guard lock(mutex_);
  sessions_.erase(token);
}

}  // namespace shankwright::hmi
