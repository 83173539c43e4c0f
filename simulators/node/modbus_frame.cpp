#include "simulators/node/modbus_frame.hpp"

namespace shankwright::node {

TcpStream take_tcp_request(Bytes& received, TcpRequest& request) {
  if (received.size() < mbap_size) return TcpStream::incomplete;
  const unsigned protocol = static_cast<unsigned>(received[2]) << 8 | received[3];
  const unsigned length = static_cast<unsigned>(received[4]) << 8 | received[5];  // unit id and PDU
  if (protocol != 0 || length < 2 || length > 1 + pdu_size_max) return TcpStream::broken;
  if (received.size() < 6 + length) return TcpStream::incomplete;
  request.transaction = static_cast<std::uint16_t>(received[0] << 8 | received[1]);
  request.unit = received[6];
  const auto end = received.begin() + 6 + static_cast<std::ptrdiff_t>(length);
  request.pdu.assign(received.begin() + mbap_size, end);
  received.erase(received.begin(), end);
  return TcpStream::complete;
}

Bytes tcp_frame(std::uint16_t transaction, std::uint8_t unit, std::span<const std::uint8_t> pdu) {
  const std::size_t length = pdu.size() + 1;
  Bytes out{
      static_cast<std::uint8_t>(transaction >> 8), static_cast<std::uint8_t>(transaction & 0xFF), 0,   0,
      static_cast<std::uint8_t>(length >> 8),      static_cast<std::uint8_t>(length & 0xFF),      unit};
  out.insert(out.end(), pdu.begin(), pdu.end());
  return out;
}

std::uint16_t crc16(std::span<const std::uint8_t> bytes) {
  unsigned crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc ^= byte;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1u) != 0 ? (crc >> 1) ^ 0xA001u : crc >> 1;
  }
  return static_cast<std::uint16_t>(crc);
}

Bytes rtu_frame(std::uint8_t unit, std::span<const std::uint8_t> pdu) {
  Bytes out{unit};
  out.insert(out.end(), pdu.begin(), pdu.end());
  const std::uint16_t crc = crc16(out);
  out.push_back(static_cast<std::uint8_t>(crc & 0xFF));
  out.push_back(static_cast<std::uint8_t>(crc >> 8));
  return out;
}

bool rtu_frame_is_sound(std::span<const std::uint8_t> frame) {
  if (frame.size() < 4 || frame.size() > rtu_frame_size_max) return false;
  const std::uint16_t crc = crc16(frame.first(frame.size() - 2));
  return frame[frame.size() - 2] == (crc & 0xFF) && frame[frame.size() - 1] == crc >> 8;
}

std::optional<std::size_t> rtu_request_length(std::span<const std::uint8_t> received) {
  if (received.size() < 2) return std::nullopt;
  const std::uint8_t function = received[1];
  if (function >= 0x01 && function <= 0x06) return 8;
  if (function != 0x0F && function != 0x10) return std::nullopt;
  if (received.size() < 7) return std::nullopt;
  return std::size_t{9} + received[6];
}

}  // namespace shankwright::node
