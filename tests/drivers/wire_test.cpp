#include <arpa/inet.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>
#include <catch2/catch.hpp>

#include <fstream>
#include <sstream>
#include <thread>

#include "drivers/modbus/client.hpp"

// The bytes on the wire against published frames: tests/reference/modbus_frames.csv (its head names the
// sources) and the worked example of the MODBUS Application Protocol Specification V1.1b3, section 6.3.

using namespace shankwright;
using namespace shankwright::modbus;
using Bytes = std::vector<std::uint8_t>;

namespace {

Bytes bytes(const std::string& hex) {
  std::istringstream in(hex);
  Bytes out;
  for (unsigned value = 0; in >> std::hex >> value;) out.push_back(static_cast<std::uint8_t>(value));
  return out;
}

struct Frame {
  std::string direction, meaning;
  Bytes data;
};
std::vector<Frame> reference_frames() {
  std::ifstream file(SOURCE_DIR "/tests/reference/modbus_frames.csv");
  std::vector<Frame> out;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#' || line.rfind("direction", 0) == 0) continue;
    const std::size_t a = line.find(','), b = line.find(',', a + 1);
    out.push_back({line.substr(0, a), line.substr(b + 1), bytes(line.substr(a + 1, b - a - 1))});
  }
  REQUIRE(out.size() == 18);
  return out;
}

Bytes read_some(int file, std::size_t wanted) {
  Bytes out;
  while (out.size() < wanted) {
    pollfd wait{file, POLLIN, 0};
    if (poll(&wait, 1, 2000) <= 0) break;
    std::uint8_t buffer[300];
    const ssize_t got = ::read(file, buffer, std::min(sizeof buffer, wanted - out.size()));
    if (got <= 0) break;
    out.insert(out.end(), buffer, buffer + got);
  }
  return out;
}

/// A serial line whose other end is held by the test.
struct Line {
  int ours = -1, theirs = -1;
  std::string device;
  Line() {
    char name[128];
    REQUIRE(openpty(&ours, &theirs, name, nullptr, nullptr) == 0);
    termios mode{};
    tcgetattr(ours, &mode);
    cfmakeraw(&mode);
    tcsetattr(ours, TCSANOW, &mode);
    device = name;
  }
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;
  ~Line() {
    ::close(ours);
    ::close(theirs);
  }
  /// Runs `request` against a peer that waits for `request_bytes`, then sends `answer`; returns what the peer
  /// saw.
  template <typename Request>
  Bytes exchange(std::size_t request_bytes, const Bytes& answer, Request request) {
    Bytes seen;
    std::thread peer([&] {
      seen = read_some(ours, request_bytes);
      if (!answer.empty()) (void)!::write(ours, answer.data(), answer.size());
    });
    request();
    peer.join();
    return seen;
  }
  [[nodiscard]] std::shared_ptr<Client> client(int unit) const {
    const auto made = Client::make(parse_address("rtu:" + device + ":115200:8N1").value(), unit, 300);
    REQUIRE(made.ok());
    REQUIRE(made.value()->connect().ok());
    return made.value();
  }
};

}  // namespace

TEST_CASE("Requests on a serial line are the published frames, CRC included") {
  int sent = 0;
  for (const Frame& frame : reference_frames()) {
    const int function = frame.data[1];
    if (frame.direction != "request" || (function != 3 && function != 4 && function != 6)) continue;
    INFO(frame.meaning);
    Line line;
    const auto client = line.client(frame.data[0]);
    const auto address = static_cast<std::uint16_t>(frame.data[2] << 8 | frame.data[3]);
    const auto value = static_cast<std::uint16_t>(frame.data[4] << 8 | frame.data[5]);
    const Bytes echo = function == 6 ? frame.data : Bytes{};
    Outcome outcome;
    const Bytes seen = line.exchange(frame.data.size(), echo, [&] {
      std::vector<std::uint16_t> into(value);
      outcome =
          function == 6 ? client->write_one(address, value) : client->read(function, {address, value}, into);
    });
    CHECK(seen == frame.data);
    CHECK(outcome.kind == (function == 6 ? Outcome::Kind::ok : Outcome::Kind::timeout));
    ++sent;
  }
  CHECK(sent == 6);
}

TEST_CASE("Published answers on a serial line are read to their values") {
  struct Case {
    const char* meaning;
    int function;
    std::vector<std::uint16_t> values;
  };
  const Case cases[] = {{"FC3 values AE41 5652 4340", 3, {0xAE41, 0x5652, 0x4340}},
                        {"FC3 values 555 0 100", 3, {555, 0, 100}},
                        {"FC4 value 10", 4, {10}}};
  int read = 0;
  for (const Frame& frame : reference_frames()) {
    for (const Case& one : cases) {
      if (frame.direction != "response" || frame.meaning != one.meaning) continue;
      Line line;
      const auto client = line.client(frame.data[0]);
      std::vector<std::uint16_t> into(one.values.size());
      Outcome outcome;
      (void)line.exchange(8, frame.data, [&] {
        outcome = client->read(one.function, {107, static_cast<std::uint16_t>(into.size())}, into);
      });
      INFO(one.meaning);
      CHECK(outcome.ok());
      CHECK(into == one.values);
      ++read;
      // One wrong bit anywhere and nothing is believed.
      for (std::size_t bit = 0; bit < 8 * frame.data.size(); bit += 5) {
        Bytes bad = frame.data;
        bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1U << bit % 8));
        Outcome spoilt;
        (void)line.exchange(8, bad, [&] {
          spoilt = client->read(one.function, {107, static_cast<std::uint16_t>(into.size())}, into);
        });
        CHECK_FALSE(spoilt.ok());
        tcflush(line.ours, TCIOFLUSH);
        client->close();
        REQUIRE(client->connect().ok());
      }
    }
  }
  CHECK(read == 3);
  Line line;  // function 16: the published answer to a write of 16 registers at 91
  const auto client = line.client(1);
  const std::vector<std::uint16_t> values(16, 7);
  Outcome outcome;
  (void)line.exchange(9 + 32, bytes("01 10 00 5B 00 10 B0 16"),
                      [&] { outcome = client->write_many(91, values); });
  CHECK(outcome.ok());
}

TEST_CASE("The specification's worked example passes over TCP byte for byte") {
  const int listening = socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof at;
  REQUIRE(bind(listening, reinterpret_cast<sockaddr*>(&at), size) == 0);
  REQUIRE(listen(listening, 1) == 0);
  REQUIRE(getsockname(listening, reinterpret_cast<sockaddr*>(&at), &size) == 0);
  const auto made =
      Client::make(parse_address("tcp:127.0.0.1:" + std::to_string(ntohs(at.sin_port))).value(), 17, 1000);
  REQUIRE(made.ok());
  Client& client = *made.value();
  REQUIRE(client.connect().ok());
  const int peer = accept(listening, nullptr, nullptr);
  const auto exchange = [&](std::uint8_t transaction_change, const std::string& answer_pdu) {
    std::vector<std::uint16_t> into(3);
    Outcome outcome;
    std::thread asking([&] { outcome = client.read(3, {0x6B, 3}, into); });
    const Bytes request = read_some(peer, 12);
    // MBAP: transaction, protocol 0, length of what follows, unit.
    CHECK(Bytes(request.begin() + 2, request.end()) == bytes("00 00 00 06 11 03 00 6B 00 03"));
    const Bytes pdu = bytes(answer_pdu);
    Bytes answer{request[0], static_cast<std::uint8_t>(request[1] + transaction_change),
                 0,          0,
                 0,          static_cast<std::uint8_t>(pdu.size() + 1),
                 17};
    answer.insert(answer.end(), pdu.begin(), pdu.end());
    (void)!::write(peer, answer.data(), answer.size());
    asking.join();
    if (outcome.ok()) CHECK(into == std::vector<std::uint16_t>{555, 0, 100});
    return outcome;
  };
  CHECK(exchange(0, "03 06 02 2B 00 00 00 64").ok());
  CHECK(exchange(1, "03 06 02 2B 00 00 00 64").kind ==
        Outcome::Kind::garbled);  // an answer to another request
  CHECK(exchange(0, "04 06 02 2B 00 00 00 64").kind == Outcome::Kind::garbled);  // to another function
  client.discard_late_answers();
  const Outcome no = exchange(0, "83 02");
  CHECK(no.kind == Outcome::Kind::exception);
  CHECK(no.exception_code == 2);
  ::close(peer);
  std::vector<std::uint16_t> into(3);
  CHECK(client.read(3, {0x6B, 3}, into).kind == Outcome::Kind::closed);
  CHECK(client.read(3, {0x6B, 3}, into).kind == Outcome::Kind::not_connected);
  ::close(listening);
}

TEST_CASE("Every exception code has its name from the specification") {
  // MODBUS Application Protocol Specification V1.1b3, section 7.
  CHECK(exception_words(1) == "exception 01, illegal function");
  CHECK(exception_words(2) == "exception 02, illegal data address");
  CHECK(exception_words(3) == "exception 03, illegal data value");
  CHECK(exception_words(4) == "exception 04, server device failure");
  CHECK_THAT(exception_words(5), Catch::Contains("exception 05, acknowledge"));
  CHECK(exception_words(6) == "exception 06, server device busy");
  CHECK(exception_words(8) == "exception 08, memory parity error");
  CHECK(exception_words(10) == "exception 10, gateway path unavailable");
  CHECK(exception_words(11) == "exception 11, gateway target device failed to respond");
  CHECK_THAT(exception_words(9), Catch::Contains("outside the standard"));
}
