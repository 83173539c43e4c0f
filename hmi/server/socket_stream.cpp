#include "hmi/server/socket_stream.hpp"

#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

namespace shankwright::hmi {

using std::chrono::milliseconds;

bool fast_enough(std::int64_t waited_ms, std::uint64_t sent_bytes) {
  constexpr std::int64_t grace_ms = 10'000;
  constexpr std::uint64_t least_bytes_per_ms = 20;
  return waited_ms <= grace_ms + static_cast<std::int64_t>(sent_bytes / least_bytes_per_ms);
}

SocketStream::Wait SocketStream::wait(short events, Steady::time_point until) const {
  while (true) {
    const auto left = std::chrono::ceil<milliseconds>(until - Steady::now()).count();
    if (left <= 0) return Wait::over;
    std::array<pollfd, 2> watched = {pollfd{socket_, events, 0}, pollfd{wake_, POLLIN, 0}};
    const int count =
        ::poll(watched.data(), watched.size(), static_cast<int>(std::min<std::int64_t>(left, 60'000)));
    if (count < 0 && errno != EINTR) return Wait::over;
    if (count <= 0) continue;
    if (watched[1].revents != 0) return Wait::woken;
    if (watched[0].revents != 0) return Wait::ready;  // errors and hang-ups too: the call that follows tells
  }
}

bool SocketStream::wait_for_request(int idle_ms) {
  if (begin_ < end_) return true;
  if (wait(POLLIN, Steady::now() + milliseconds(idle_ms)) != Wait::ready) return false;
  return fill() > 0;
}

void SocketStream::begin_request(int ms, std::size_t bytes) {
  deadline_ = Steady::now() + milliseconds(ms);
  bytes_left_ = bytes;
  waited_ms_ = 0;
  sent_bytes_ = 0;
}

ssize_t SocketStream::fill() {
  ssize_t got = 0;
  do {
    got = ::recv(socket_, buffer_.data(), buffer_.size(), 0);
  } while (got < 0 && errno == EINTR);
  begin_ = 0;
  end_ = got > 0 ? static_cast<std::size_t>(got) : 0;
  return got;
}

bool SocketStream::is_readable() const {
  return begin_ < end_ || wait(POLLIN, deadline_) == Wait::ready;
}

bool SocketStream::is_writable() const {
  pollfd watched{socket_, POLLOUT | POLLRDHUP, 0};
  if (::poll(&watched, 1, 0) < 0) return false;
  return (watched.revents & (POLLRDHUP | POLLHUP | POLLERR | POLLNVAL)) == 0;
}

ssize_t SocketStream::read(char* into, std::size_t size) {
  if (bytes_left_ == 0) return -1;
  if (begin_ == end_) {
    if (wait(POLLIN, deadline_) != Wait::ready) return -1;
    if (const ssize_t got = fill(); got <= 0) return got;
  }
  const std::size_t taken = std::min({size, end_ - begin_, bytes_left_});
  std::memcpy(into, buffer_.data() + begin_, taken);
  begin_ += taken;
  bytes_left_ -= taken;
  return static_cast<ssize_t>(taken);
}

ssize_t SocketStream::write(const char* from, std::size_t size) {
  const auto begun = Steady::now();
  auto until = begun + milliseconds(write_ms_most_);
  while (true) {
    const ssize_t sent = ::send(socket_, from, size, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent >= 0) {
      sent_bytes_ += static_cast<std::uint64_t>(sent);
      waited_ms_ += std::chrono::duration_cast<milliseconds>(Steady::now() - begun).count();
      return fast_enough(waited_ms_, sent_bytes_) ? sent : -1;
    }
    if (errno == EINTR) continue;
    if (errno != EAGAIN && errno != EWOULDBLOCK) return -1;
    pollfd watched{socket_, POLLOUT, 0};
    // Short waits without the wake descriptor: an answer under way may finish, a peer that does not read may
    // not stay.
    if (::poll(&watched, 1, 50) < 0 && errno != EINTR) return -1;
    pollfd woken{wake_, POLLIN, 0};
    if (::poll(&woken, 1, 0) > 0) until = std::min(until, Steady::now() + milliseconds(50));
    if (watched.revents == 0 && Steady::now() >= until) return -1;
  }
}

void SocketStream::linger() {
  ::shutdown(socket_, SHUT_WR);
  const auto until = Steady::now() + milliseconds(500);
  for (std::size_t total = 0; total < 16U * 1024 * 1024;) {
    if (wait(POLLIN, until) != Wait::ready) return;
    const ssize_t got = fill();
    if (got <= 0) return;
    total += static_cast<std::size_t>(got);
  }
}

// Nobody of ours asks for addresses, and a name look-up per request would be the only cost of knowing them.
void SocketStream::get_remote_ip_and_port(std::string& ip, int& port) const {
  ip.clear();
  port = 0;  // nobody asks
  sockaddr_storage peer{};
  socklen_t size = sizeof peer;
  if (::getpeername(socket_, reinterpret_cast<sockaddr*>(&peer), &size) != 0) return;
  std::array<char, NI_MAXHOST> text{};
  if (::getnameinfo(reinterpret_cast<const sockaddr*>(&peer), size, text.data(), text.size(), nullptr, 0,
                    NI_NUMERICHOST) == 0)
    ip = text.data();
}
void SocketStream::get_local_ip_and_port(std::string& ip, int& port) const {
  ip.clear();
  port = 0;
}

}  // namespace shankwright::hmi
