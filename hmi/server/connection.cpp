#include "hmi/server/connection.hpp"

#include <sys/eventfd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdint>
#include <stdexcept>

#include "hmi/server/guards.hpp"
#include "hmi/server/socket_stream.hpp"

namespace shankwright::hmi {

Exchange& current_exchange() {
  static thread_local Exchange exchange;
  return exchange;
}

ConnectionServer::ConnectionServer() : wake_(::eventfd(0, EFD_CLOEXEC)) {
  if (wake_ < 0) throw std::runtime_error("no eventfd for the HTTP server");
  new_task_queue = [] { return new httplib::ThreadPool(threads); };
  set_tcp_nodelay(true);
  // The library's default shares the port (SO_REUSEPORT): a second station would take half the requests
  // unnoticed.
  set_socket_options([this](socket_t socket) {
    const int yes = 1;
    ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    listening_ = socket;
  });
}

ConnectionServer::~ConnectionServer() {
  if (wake_ >= 0) ::close(wake_);
}

int ConnectionServer::bind(const std::string& host, int port) {
  const int bound = port == 0 ? bind_to_any_port(host) : (bind_to_port(host, port) ? port : 0);
  // The library's backlog of 5 is less than one browser's connections; listening again only widens it.
  if (bound > 0) ::listen(listening_, 128);
  return bound > 0 ? bound : 0;
}

void ConnectionServer::end_connections() {
  stopping_ = true;
  const std::uint64_t one = 1;
  // An eventfd takes a 1 unless its counter is full, which already means readable.
  if (::write(wake_, &one, sizeof one) < 0) return;
}

bool ConnectionServer::process_and_close_socket(socket_t socket) {
  const std::size_t now_open = ++connections_;
  SocketStream stream(socket, wake_, write_ms_most);
  // When threads run short, a connection serves one request and makes room for the next.
  const bool crowded = now_open + 4 > threads;
  bool fine = true;
  for (std::size_t served = 0; served < requests_most && !stopping_; ++served) {
    if (!stream.wait_for_request(idle_ms_most)) break;
    stream.begin_request(request_ms_most, request_bytes_most);
    Exchange& exchange = current_exchange();
    exchange = Exchange{};
    bool closed = false;
    const bool last = crowded || served + 1 == requests_most;
    fine = process_request(stream, last, closed, [&exchange](httplib::Request& request) {
      exchange.path = std::move(request.path);
      request.path.assign(1, '/');
      exchange.accepts_gzip = accepts_gzip(request.get_header_value("Accept-Encoding"));
      request.headers.erase("Accept-Encoding");
      request.ranges.clear();
    });
    if (!fine || closed || last || exchange.close) break;
  }
  stream.linger();
  ::close(socket);
  --connections_;
  return fine;
}

}  // namespace shankwright::hmi
