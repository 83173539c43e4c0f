#pragma once
#include <httplib.h>

#include <array>
#include <chrono>
#include <cstdint>
#include <string>

namespace shankwright::hmi {

/// Whether a peer still takes its answer fast enough for a thread to stay with it: 10 s of waiting for it in
/// all, and beyond that 20 kB for each further second. A peer that takes a byte now and then is none.
[[nodiscard]] bool fast_enough(std::int64_t waited_ms, std::uint64_t sent_bytes);

/// A connected socket for the HTTP library, with a deadline and a bound on bytes for each request, ended
/// early when `wake` becomes readable. Does not own the descriptors.
class SocketStream : public httplib::Stream {
 public:
  SocketStream(socket_t socket, int wake, int write_ms_most)
      : socket_(socket), wake_(wake), write_ms_most_(write_ms_most) {}

  /// Waits for the first byte of the next request. False: none came in time, the peer is gone, or it is time
  /// to end.
  [[nodiscard]] bool wait_for_request(int idle_ms);
  /// From here on reading gives up after `ms` or `bytes`.
  void begin_request(int ms, std::size_t bytes);
  /// Says goodbye so that the peer sees the answer even when we have not read all it sent: half-close, then
  /// read on for a short while. A plain close would reset the connection and could destroy the answer under
  /// way.
  void linger();

  [[nodiscard]] bool is_readable() const override;
  [[nodiscard]] bool is_writable() const override;  ///< false as soon as the peer has closed its side
  ssize_t read(char* into, std::size_t size) override;
  ssize_t write(const char* from, std::size_t size) override;
  void get_remote_ip_and_port(std::string& ip, int& port) const override;
  void get_local_ip_and_port(std::string& ip, int& port) const override;
  [[nodiscard]] socket_t socket() const override { return socket_; }

 private:
  using Steady = std::chrono::steady_clock;
  enum class Wait { ready, over, woken };
  [[nodiscard]] Wait wait(short events, Steady::time_point until) const;
  [[nodiscard]] ssize_t fill();

  socket_t socket_;
  int wake_;
  int write_ms_most_;
  Steady::time_point deadline_{};
  std::size_t bytes_left_ = 0;
  std::int64_t waited_ms_ = 0;    ///< for the peer to take this answer
  std::uint64_t sent_bytes_ = 0;  ///< of this answer
  std::array<char, 4096> buffer_{};
  std::size_t begin_ = 0, end_ = 0;  ///< unread bytes of buffer_
};

}  // namespace shankwright::hmi
