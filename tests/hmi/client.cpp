#include "client.hpp"

#include <arpa/inet.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <chrono>
#include <stdexcept>

namespace shankwright::hmi_test {

using Steady = std::chrono::steady_clock;
using std::chrono::milliseconds;

std::string Answer::header(const std::string& name) const {
  const auto found = headers.find(name);
  return found == headers.end() ? "" : found->second;
}

nlohmann::json Answer::json() const {
  auto parsed = nlohmann::json::parse(body, nullptr, false);
  INFO(body);
  REQUIRE_FALSE(parsed.is_discarded());
  return parsed;
}

Connection::Connection(int port) : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
    throw std::runtime_error("the test's client cannot connect");
}

Connection::~Connection() {
  ::close(socket_);
}

void Connection::send(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent <= 0) return;  // the server may refuse and close before it has everything
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
}

void Connection::end_sending() {
  ::shutdown(socket_, SHUT_WR);
}

bool Connection::more(int ms) {
  pollfd watched{socket_, POLLIN, 0};
  if (::poll(&watched, 1, std::max(ms, 0)) <= 0) return false;
  char piece[8192];
  const ssize_t got = ::recv(socket_, piece, sizeof piece, 0);
  if (got > 0) buffer_.append(piece, static_cast<std::size_t>(got));
  return got > 0;
}

std::string Connection::read_for(int ms) {
  const auto until = Steady::now() + milliseconds(ms);
  while (true) {
    const auto left = std::chrono::duration_cast<milliseconds>(until - Steady::now()).count();
    if (left <= 0 || !more(static_cast<int>(left))) return buffer_;
  }
}

std::string Connection::read_until(std::string_view text, int ms) {
  const auto until = Steady::now() + milliseconds(ms);
  while (buffer_.find(text) == std::string::npos) {
    const auto left = std::chrono::duration_cast<milliseconds>(until - Steady::now()).count();
    if (left <= 0 || !more(static_cast<int>(left))) break;
  }
  return buffer_;
}

bool Connection::closes_within(int ms) {
  const auto until = Steady::now() + milliseconds(ms);
  while (true) {
    const auto left = std::chrono::duration_cast<milliseconds>(until - Steady::now()).count();
    pollfd watched{socket_, POLLIN, 0};
    if (left <= 0 || ::poll(&watched, 1, static_cast<int>(left)) <= 0) return false;
    char piece[8192];
    if (::recv(socket_, piece, sizeof piece, 0) <= 0) return true;
  }
}

Answer Connection::receive(int seconds, bool to_head) {
  const auto until = Steady::now() + std::chrono::seconds(seconds);
  const auto wait = [&] {
    return more(static_cast<int>(std::chrono::duration_cast<milliseconds>(until - Steady::now()).count()));
  };
  Answer answer;
  while (true) {
    std::size_t head_end = std::string::npos;
    while ((head_end = buffer_.find("\r\n\r\n")) == std::string::npos)
      if (!wait()) return answer;
    const std::string head = buffer_.substr(0, head_end + 2);
    buffer_.erase(0, head_end + 4);
    answer = Answer{};
    answer.status = std::stoi(head.substr(head.find(' ') + 1, 3));
    for (std::size_t at = head.find("\r\n") + 2; at < head.size();) {
      const std::size_t end = head.find("\r\n", at);
      const std::string line = head.substr(at, end - at);
      std::string name = line.substr(0, line.find(':'));
      std::transform(name.begin(), name.end(), name.begin(),
                     [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
      const std::string value = line.substr(line.find(':') + 1);
      answer.headers.emplace(name, value.substr(std::min(value.size(), value.find_first_not_of(' '))));
      at = end + 2;
    }
    if (answer.status >= 200) break;
  }
  if (answer.header("transfer-encoding") == "chunked" &&
      answer.header("content-type") != "text/event-stream" && !to_head) {
    while (true) {  // a body that breaks off stays as far as it came
      std::size_t line_end = std::string::npos;
      while ((line_end = buffer_.find("\r\n")) == std::string::npos)
        if (!wait()) return answer;
      const std::size_t size = std::stoul(buffer_.substr(0, line_end), nullptr, 16);
      while (buffer_.size() < line_end + 2 + size + 2)
        if (!wait()) return answer;
      answer.body += buffer_.substr(line_end + 2, size);
      buffer_.erase(0, line_end + 2 + size + 2);
      if (size == 0) return answer;
    }
  }
  const std::string length_text = answer.header("content-length");
  const std::size_t length = length_text.empty() || to_head ? 0 : std::stoul(length_text);
  while (buffer_.size() < length)
    if (!wait()) break;
  answer.body = buffer_.substr(0, length);
  buffer_.erase(0, length);
  return answer;
}

std::string request_text(const Call& call) {
  std::string out = call.method + " " + call.path + " HTTP/1.1\r\n";
  if (!call.host.empty()) out += "Host: " + call.host + "\r\n";
  if (!call.origin.empty()) out += "Origin: " + call.origin + "\r\n";
  if (!call.token.empty()) out += "Authorization: Bearer " + call.token + "\r\n";
  out += call.more_headers;
  if (!call.body.empty()) {
    if (!call.content_type.empty()) out += "Content-Type: " + call.content_type + "\r\n";
    out += "Content-Length: " + std::to_string(call.body.size()) + "\r\n";
  }
  return out + "\r\n" + call.body;
}

std::string sign_in_body(const std::string& person, const std::string& pin) {
  return nlohmann::json{{"person", person}, {"pin", pin}}.dump();
}

Rig::Rig(hmi::ServerOptions options) {
  options.port = 0;
  server = std::make_unique<hmi::Server>(options, station, record, library, shop, clock, accounts.get(),
                                         hmi::Desk{&review, &jobs, &workshop.get()});
  port = server->start().value();
}

Answer Rig::call(const Call& call) const {
  Connection connection(port);
  connection.send(request_text(call));
  return connection.receive(10, call.method == "HEAD");
}

Answer Rig::get(const std::string& path) const {
  return call({.method = "GET", .path = path});
}

Answer Rig::post(const std::string& path, const std::string& body, const std::string& token) const {
  return call({.method = "POST", .path = path, .body = body, .token = token});
}

std::string Rig::sign_in(const std::string& person) const {
  const auto answer = post("/api/v1/session", sign_in_body(person), "");
  REQUIRE(answer.status == 200);
  return answer.json().at("token").get<std::string>();
}

}  // namespace shankwright::hmi_test
