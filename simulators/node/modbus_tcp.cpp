#include "simulators/node/modbus_tcp.hpp"

#include <arpa/inet.h>
#include <netdb.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <deque>
#include <thread>
#include <vector>

#include "simulators/node/modbus_frame.hpp"

namespace shankwright::node {
namespace {

using Clock = std::chrono::steady_clock;
constexpr int poll_period_ms = 5;                  // how soon a fault window or the end is seen
constexpr std::size_t answers_waiting_max = 1000;  // a client that never reads is let go

/// A file descriptor that closes itself.
class Socket {
 public:
  Socket() = default;
  explicit Socket(int fd) : fd_(fd) {}
  Socket(Socket&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
  Socket& operator=(Socket&& other) noexcept {
    if (this != &other) {
      close();
      fd_ = std::exchange(other.fd_, -1);
    }
    return *this;
  }
  ~Socket() { close(); }
  void close() {
    if (fd_ >= 0) ::close(fd_);
    fd_ = -1;
  }
  [[nodiscard]] int get() const { return fd_; }
  [[nodiscard]] bool open() const { return fd_ >= 0; }

 private:
  int fd_ = -1;
};

struct Answer {
  Clock::time_point due;
  Bytes bytes;
  std::size_t sent = 0;
};

struct Client {
  Socket socket;
  Bytes received;
  std::deque<Answer> answers;
  bool gone = false;
};

Problem listen_problem(const std::string& host, std::uint16_t port, const std::string& why) {
  return {"modbus listen address", host + ":" + std::to_string(port) + " (" + why + ")",
          "an address of this machine and a free port, for example 127.0.0.1:1502"};
}

Result<std::shared_ptr<Socket>> listen_on(const std::string& host, std::uint16_t port) {
  addrinfo hints{};
  hints.ai_family = AF_UNSPEC;
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_PASSIVE | AI_NUMERICSERV;
  addrinfo* found = nullptr;
  if (const int code = ::getaddrinfo(host.c_str(), std::to_string(port).c_str(), &hints, &found); code != 0) {
    return listen_problem(host, port, ::gai_strerror(code));
  }
  std::string why = "no address";
  std::shared_ptr<Socket> listening;
  for (const addrinfo* at = found; at != nullptr && !listening; at = at->ai_next) {
    auto socket = std::make_shared<Socket>(
        ::socket(at->ai_family, at->ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC, at->ai_protocol));
    const int on = 1;
    if (socket->open() && ::setsockopt(socket->get(), SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) == 0 &&
        ::bind(socket->get(), at->ai_addr, at->ai_addrlen) == 0 && ::listen(socket->get(), 16) == 0) {
      listening = socket;
    } else {
      why = std::strerror(errno);
    }
  }
  ::freeaddrinfo(found);
  if (!listening) return listen_problem(host, port, why);
  return listening;
}

std::uint16_t port_of(const Socket& socket) {
  sockaddr_storage address{};
  socklen_t size = sizeof address;
  ::getsockname(socket.get(), reinterpret_cast<sockaddr*>(&address), &size);
  return ntohs(address.ss_family == AF_INET6 ? reinterpret_cast<const sockaddr_in6*>(&address)->sin6_port
                                             : reinterpret_cast<const sockaddr_in*>(&address)->sin_port);
}

class Server final : public ModbusTcpServer {
 public:
  Server(std::string host, std::shared_ptr<Socket> listening, RegisterBank& bank,
         const LinkFaultSwitch& faults, std::uint64_t seed)
      : host_(std::move(host)),
        listening_(std::move(listening)),
        port_(port_of(*listening_)),
        bank_(bank),
        faults_(faults),
        random_(seed),
        thread_([this] { run(); }) {}
  ~Server() override {
    stopping_ = true;
    thread_.join();
  }
  [[nodiscard]] std::uint16_t port() const override { return port_; }

 private:
  void run() {
    while (!stopping_) {
      const LinkFaults faults = faults_.now();
      follow_the_cable(faults);
      wait();
      for (Client& client : clients_) serve(client, faults);
      std::erase_if(clients_, [](const Client& client) { return client.gone; });
      accept_clients();
    }
  }

  /// A dropped link has no listener either: new connections are refused, as with the node switched off.
  void follow_the_cable(const LinkFaults& faults) {
    if (faults.dropped && listening_) {
      clients_.clear();
      listening_.reset();
    } else if (!faults.dropped && !listening_) {
      if (auto again = listen_on(host_, port_); again.ok()) listening_ = again.value();
    }
  }

  void wait() {
    std::vector<pollfd> polled;
    if (listening_) polled.push_back({listening_->get(), POLLIN, 0});
    const Clock::time_point now = Clock::now();
    for (const Client& client : clients_) {
      const bool due = !client.answers.empty() && client.answers.front().due <= now;
      polled.push_back({client.socket.get(), static_cast<short>(POLLIN | (due ? POLLOUT : 0)), 0});
    }
    ::poll(polled.data(), polled.size(), poll_period_ms);
  }

  void accept_clients() {
    while (listening_) {
      Socket socket(::accept4(listening_->get(), nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC));
      if (!socket.open()) return;
      if (clients_.size() >= clients_max) continue;  // closes it at once
      const int on = 1;
      ::setsockopt(socket.get(), IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
      clients_.push_back({std::move(socket), {}, {}, false});
    }
  }

  void serve(Client& client, const LinkFaults& faults) {
    receive(client);
    TcpRequest request;
    while (!client.gone && client.answers.size() < answers_waiting_max) {
      const TcpStream stream = take_tcp_request(client.received, request);
      if (stream == TcpStream::broken) client.gone = true;
      if (stream != TcpStream::complete) break;
      reply(client, request, faults);
    }
    if (client.answers.size() >= answers_waiting_max) client.gone = true;
    send(client);
  }

  /// At most a few frames are taken in per turn, so that one talkative client does not starve the others.
  void receive(Client& client) {
    std::array<std::uint8_t, 4 * tcp_frame_size_max> buffer{};
    const ssize_t size = ::recv(client.socket.get(), buffer.data(), buffer.size(), 0);
    if (size > 0) {
      client.received.insert(client.received.end(), buffer.begin(), buffer.begin() + size);
    } else if (size == 0 || (errno != EAGAIN && errno != EINTR)) {
      client.gone = true;
    }
  }

  void reply(Client& client, const TcpRequest& request, const LinkFaults& faults) {
    std::optional<Bytes> pdu;
    if (request.unit == unit_id) {
      pdu = answer_under(faults, request.pdu, bank_);
    } else if (!faults.silent) {
      pdu = exception_pdu(request.pdu[0], exception::target_failed_to_respond);
    }
    if (!pdu) return;
    Bytes frame = tcp_frame(request.transaction, request.unit, *pdu);
    spoil(faults, frame, random_);
    client.answers.push_back(
        {Clock::now() + std::chrono::milliseconds(faults.delay_ms), std::move(frame), 0});
  }

  static void send(Client& client) {
    const Clock::time_point now = Clock::now();
    while (!client.gone && !client.answers.empty() && client.answers.front().due <= now) {
      Answer& answer = client.answers.front();
      const ssize_t size = ::send(client.socket.get(), answer.bytes.data() + answer.sent,
                                  answer.bytes.size() - answer.sent, MSG_NOSIGNAL);
      if (size < 0) {
        if (errno != EAGAIN && errno != EINTR) client.gone = true;
        return;
      }
      answer.sent += static_cast<std::size_t>(size);
      if (answer.sent < answer.bytes.size()) return;
      client.answers.pop_front();
    }
  }

  std::string host_;
  std::shared_ptr<Socket> listening_;
  std::uint16_t port_;
  RegisterBank& bank_;
  const LinkFaultSwitch& faults_;
  plant::Random random_;
  std::vector<Client> clients_;
  std::atomic<bool> stopping_ = false;
  std::thread thread_;  // last: starts when everything else is there
};

}  // namespace

Result<std::shared_ptr<ModbusTcpServer>> ModbusTcpServer::start(const std::string& host, std::uint16_t port,
                                                                RegisterBank& bank,
                                                                const LinkFaultSwitch& faults,
                                                                std::uint64_t seed) {
  auto listening = listen_on(host, port);
  if (!listening.ok()) return listening.problem();
  return std::shared_ptr<ModbusTcpServer>(
      std::make_shared<Server>(host, listening.value(), bank, faults, seed));
}

}  // namespace shankwright::node
