// The node's Modbus: PDUs against MODBUS Application Protocol Specification V1.1b3
// (sections 6.3, 6.4, 6.6, 6.12, 7) and the press map's own limits; frames against
// tests/reference/modbus_frames.csv, whose head names its source.
#include <catch2/catch.hpp>
#include <fstream>
#include <random>
#include <sstream>

#include "simulators/node/modbus_frame.hpp"
#include "simulators/node/press_logic.hpp"

using namespace shankwright::node;

namespace {

class Bank final : public RegisterBank {
 public:
  InputRegisters read_input_registers() override { return input; }
  HoldingRegisters read_holding_registers() override { return logic.holding_registers(); }
  bool write_holding_registers(std::uint16_t address, std::span<const std::uint16_t> values) override {
    if (!logic.write(address, values)) return false;
    ++writes;
    return true;
  }
  InputRegisters input{};
  PressLogic logic;
  int writes = 0;
};

Bytes bytes_of(const std::string& hex) {
  std::istringstream in(hex);
  Bytes out;
  unsigned value = 0;
  while (in >> std::hex >> value) out.push_back(static_cast<std::uint8_t>(value));
  return out;
}

Bytes read_request(std::uint8_t function, unsigned address, unsigned quantity) {
  return {function, static_cast<std::uint8_t>(address >> 8), static_cast<std::uint8_t>(address & 255),
          static_cast<std::uint8_t>(quantity >> 8), static_cast<std::uint8_t>(quantity & 255)};
}

Bytes write_request(unsigned address, const std::vector<std::uint16_t>& values) {
  Bytes out = read_request(16, address, static_cast<unsigned>(values.size()));
  out.push_back(static_cast<std::uint8_t>(2 * values.size()));
  for (const std::uint16_t value : values) {
    out.push_back(static_cast<std::uint8_t>(value >> 8));
    out.push_back(static_cast<std::uint8_t>(value & 255));
  }
  return out;
}

}  // namespace

TEST_CASE(
    "Reads answer inside the table, exception 02 outside or partly outside, 03 for a quantity of 0 or over "
    "125",
    "[node][modbus]") {
  Bank bank;
  for (std::size_t i = 0; i < bank.input.size(); ++i) bank.input[i] = static_cast<std::uint16_t>(0x4100 + i);
  for (const auto& [function, size] : {std::pair<std::uint8_t, unsigned>{4, 100}, {3, 10}}) {
    for (unsigned address = 0; address < 110; ++address) {
      for (unsigned quantity = 0; quantity < 130; ++quantity) {
        const Bytes reply = answer(read_request(function, address, quantity), bank);
        const std::uint8_t expected = quantity == 0 || quantity > 125 ? 3 : address + quantity > size ? 2 : 0;
        if (expected != 0) {
          if (reply != Bytes{static_cast<std::uint8_t>(function | 0x80), expected}) {
            FAIL("function " << int{function} << " at " << address << " of " << quantity);
          }
          continue;
        }
        if (reply.size() != 2 + 2 * quantity || reply[0] != function || reply[1] != 2 * quantity)
          FAIL("length");
        for (unsigned i = 0; function == 4 && i < quantity; ++i) {
          if (reply[2 + 2 * i] != 0x41 || reply[3 + 2 * i] != address + i) FAIL("register " << address + i);
        }
      }
    }
    CHECK(answer(read_request(function, 65535, 1), bank) ==
          Bytes{static_cast<std::uint8_t>(function | 0x80), 2});
    CHECK(answer(read_request(function, 65535, 65535), bank) ==
          Bytes{static_cast<std::uint8_t>(function | 0x80), 3});
  }
}

TEST_CASE("Every function but 03, 04, 06 and 16 is exception 01", "[node][modbus]") {
  Bank bank;
  for (unsigned function = 0; function < 256; ++function) {
    if (function == 3 || function == 4 || function == 6 || function == 16) continue;
    const auto code = static_cast<std::uint8_t>(function);
    const Bytes expected{static_cast<std::uint8_t>(function | 0x80), 1};
    CHECK(answer(read_request(code, 0, 1), bank) == expected);
    CHECK(answer(Bytes{code}, bank) == expected);
  }
  CHECK(bank.writes == 0);
}

TEST_CASE("Writes are taken whole or not at all", "[node][modbus]") {
  Bank bank;
  const std::vector<std::uint16_t> permit{1, 7, 5000, 6000, 500, 50, 8000, 20000, 101};
  CHECK(answer(write_request(1, permit), bank) == Bytes{16, 0, 1, 0, 9});
  CHECK(answer(read_request(3, 1, 2), bank) == Bytes{3, 4, 0, 1, 0, 7});
  const HoldingRegisters before = bank.logic.holding_registers();

  auto unknown_order = permit;
  unknown_order[0] = 6;
  auto too_high = permit;
  too_high[2] = 7001;
  for (const auto& illegal : {unknown_order, too_high}) {
    auto values = illegal;
    values[1] = 8;
    CHECK(answer(write_request(1, values), bank) == Bytes{0x90, 3});
  }
  CHECK(answer(write_request(1, {1, 8, 5000, 6000, 500, 50, 8000, 20000, 101, 0}), bank) == Bytes{0x90, 2});
  CHECK(answer(write_request(9, {101, 1}), bank) == Bytes{0x90, 2});
  CHECK(answer(write_request(10, {1}), bank) == Bytes{0x90, 2});
  CHECK(answer(write_request(65535, {1}), bank) == Bytes{0x90, 2});
  CHECK(answer(write_request(0, {}), bank) == Bytes{0x90, 3});
  CHECK(answer(write_request(0, std::vector<std::uint16_t>(123, 0)), bank) == Bytes{0x90, 2});
  Bytes short_count = write_request(1, permit);
  short_count[5] = 16;
  CHECK(answer(short_count, bank) == Bytes{0x90, 3});
  Bytes cut = write_request(1, permit);
  cut.pop_back();
  CHECK(answer(cut, bank) == Bytes{0x90, 3});
  CHECK(answer(Bytes{6, 0, 10, 0, 1}, bank) == Bytes{0x86, 2});
  CHECK(answer(Bytes{6, 0, 1, 0, 6}, bank) == Bytes{0x86, 3});
  CHECK(answer(Bytes{6, 0, 3, 0xFF, 0xFF}, bank) == Bytes{0x86, 3});
  CHECK(bank.logic.holding_registers() == before);

  for (std::uint8_t address = 0; address < 10; ++address) {
    CHECK(answer(Bytes{6, 0, address, 0, 2}, bank) == Bytes{6, 0, address, 0, 2});
  }
  CHECK(answer(read_request(3, 0, 10), bank) ==
        Bytes{3, 20, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2, 0, 2});
}

TEST_CASE("The specification's example of function 03 is answered byte by byte", "[node][modbus]") {
  // V1.1b3, section 6.3: request 03 00 6B 00 03, response 03 06 02 2B 00 00 00 64. Its registers 108 to 110
  // lie outside this map, so the same values are read from 97 to 99 of the input registers with function 04.
  Bank bank;
  bank.input[97] = 0x022B;
  bank.input[98] = 0x0000;
  bank.input[99] = 0x0064;
  CHECK(answer(bytes_of("03 00 6B 00 03"), bank) == bytes_of("83 02"));
  CHECK(answer(bytes_of("04 00 61 00 03"), bank) == bytes_of("04 06 02 2B 00 00 00 64"));
}

TEST_CASE("No bytes upset the server, whatever they are", "[node][modbus]") {
  std::random_device device;
  const std::uint64_t seed = device();
  INFO("seed " << seed);
  std::mt19937_64 dice(seed);
  Bank bank;
  const std::uint8_t functions[] = {3, 4, 6, 16};
  for (int i = 0; i < 200000; ++i) {
    Bytes request(1 + dice() % 40);
    for (auto& byte : request) byte = static_cast<std::uint8_t>(dice() % 4 == 0 ? dice() % 12 : dice());
    if (dice() % 2 == 0) request[0] = functions[dice() % 4];
    const Bytes reply = answer(request, bank);
    const bool good = reply.size() >= 2 && reply.size() <= pdu_size_max &&
                      (reply[0] == request[0] || (reply.size() == 2 && reply[0] == (request[0] | 0x80) &&
                                                  reply[1] >= 1 && reply[1] <= 3));
    if (!good) FAIL("request " << i);

    Bytes stream(dice() % 300);
    for (auto& byte : stream) byte = static_cast<std::uint8_t>(dice() % 3 == 0 ? dice() : 0);
    TcpRequest taken;
    while (take_tcp_request(stream, taken) == TcpStream::complete) {
      if (taken.pdu.empty() || taken.pdu.size() > pdu_size_max) FAIL("frame " << i);
    }
    static_cast<void>(rtu_frame_is_sound(stream));
    static_cast<void>(rtu_request_length(stream));
  }
}

TEST_CASE("Serial frames bear the reference's check sums and lengths", "[node][modbus]") {
  std::ifstream file(SOURCE_DIR "/tests/reference/modbus_frames.csv");
  REQUIRE(file);
  int frames = 0, lengths = 0;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#' || line.rfind("direction", 0) == 0) continue;
    const std::size_t first = line.find(','), second = line.find(',', first + 1);
    const Bytes frame = bytes_of(line.substr(first + 1, second - first - 1));
    INFO(line);
    CHECK(rtu_frame_is_sound(frame));
    const Bytes body(frame.begin() + 1, frame.end() - 2);
    CHECK(rtu_frame(frame[0], body) == frame);
    if (line.rfind("request", 0) == 0) {
      CHECK(rtu_request_length(frame) == frame.size());
      ++lengths;
    }
    for (std::size_t i = 0; i < frame.size(); ++i) {
      Bytes bad = frame;
      bad[i] ^= 0x10;
      CHECK_FALSE(rtu_frame_is_sound(bad));
    }
    ++frames;
  }
  CHECK(frames == 18);
  CHECK(lengths > 5);
  const std::string check = "123456789";
  CHECK(crc16(Bytes(check.begin(), check.end())) == 0x4B37);
}

TEST_CASE("Requests over TCP are taken off the stream whole, however they are cut", "[node][modbus]") {
  const Bytes one = tcp_frame(0x1234, 1, read_request(4, 0, 100));
  const Bytes two = tcp_frame(0xFFFF, 9, write_request(1, {1, 2, 3}));
  Bytes both = one;
  both.insert(both.end(), two.begin(), two.end());
  for (std::size_t cut = 0; cut <= both.size(); ++cut) {
    Bytes stream(both.begin(), both.begin() + static_cast<std::ptrdiff_t>(cut));
    std::vector<TcpRequest> taken;
    TcpRequest request;
    while (take_tcp_request(stream, request) == TcpStream::complete) taken.push_back(request);
    stream.insert(stream.end(), both.begin() + static_cast<std::ptrdiff_t>(cut), both.end());
    while (take_tcp_request(stream, request) == TcpStream::complete) taken.push_back(request);
    REQUIRE(taken.size() == 2);
    CHECK(taken[0].transaction == 0x1234);
    CHECK(taken[0].unit == 1);
    CHECK(taken[0].pdu == read_request(4, 0, 100));
    CHECK(taken[1].transaction == 0xFFFF);
    CHECK(taken[1].unit == 9);
    CHECK(stream.empty());
  }
  for (const char* broken :
       {"00 01 00 01 00 06 01", "00 01 00 00 00 01 01", "00 01 00 00 00 FF 01", "00 01 00 00 FF FF 01"}) {
    Bytes stream = bytes_of(broken);
    TcpRequest request;
    CHECK(take_tcp_request(stream, request) == TcpStream::broken);
  }
}
