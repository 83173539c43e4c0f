#pragma once
#include <httplib.h>

#include <atomic>
#include <string>

/// The HTTP library's server with our own connection loop. The library's keeps stop() waiting for idle
/// connections, bounds neither the time nor the bytes of a request, reads a body without length until the
/// peer hangs up, and goes on reading where a refused body still lies in the socket.
namespace shankwright::hmi {

/// One request on its way through the library, which hands its handlers neither the connection nor the
/// undecorated request. One per thread while it runs process_request.
struct Exchange {
  std::string path;  ///< decoded; the library is shown "/" so that its route expressions never see ours
  bool accepts_gzip = false;  ///< taken from the library, which would pack what is packed already
  bool close = false;         ///< set by a handler: the connection cannot carry another request
};
[[nodiscard]] Exchange& current_exchange();

class ConnectionServer : public httplib::Server {
 public:
  static constexpr std::size_t threads = 32;
  static constexpr int idle_ms_most = 2000;     ///< between two requests of one connection
  static constexpr int request_ms_most = 5000;  ///< from the first byte to the last of a request
  static constexpr int write_ms_most = 5000;    ///< for the peer to take what is written
  static constexpr std::size_t request_bytes_most = 128 * 1024;  ///< head and body
  static constexpr std::size_t requests_most = 1000;             ///< on one connection

  ConnectionServer();
  ~ConnectionServer() override;

  /// 0 binds a free port. The port, or 0 when it cannot be had.
  [[nodiscard]] int bind(const std::string& host, int port);
  /// Wakes every waiting connection; what is being written may finish within a moment. Before httplib's
  /// stop().
  void end_connections();
  [[nodiscard]] const std::atomic<bool>& stopping() const { return stopping_; }

 private:
  bool process_and_close_socket(socket_t socket) override;

  std::atomic<bool> stopping_{false};
  std::atomic<std::size_t> connections_{0};
  int wake_ = -1;  ///< an eventfd, readable once stopping
  int listening_ = -1;
};

}  // namespace shankwright::hmi
