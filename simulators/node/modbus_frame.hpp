#pragma once
#include <cstdint>
#include <optional>
#include <span>

#include "simulators/node/modbus_pdu.hpp"

/// Frames around a PDU: MBAP over TCP (MODBUS Messaging on TCP/IP V1.0b, 3.1.3) and CRC-16 over a serial line
/// (MODBUS over Serial Line V1.02, 2.5.1). Pure.
///
/// Why not libmodbus here: the station's driver stands on it, and a simulated press that shares the same code
/// would agree with it even where both are wrong. Its server side also loses the stream after a function it
/// does not know.
namespace shankwright::node {

inline constexpr std::size_t mbap_size = 7;
inline constexpr std::size_t pdu_size_max = 253;
inline constexpr std::size_t tcp_frame_size_max = mbap_size + pdu_size_max;
inline constexpr std::size_t rtu_frame_size_max = 256;

struct TcpRequest {
  std::uint16_t transaction = 0;
  std::uint8_t unit = 0;
  Bytes pdu;
};

enum class TcpStream : std::uint8_t {
  incomplete,  ///< wait for more bytes
  complete,    ///< one request taken off the front
  broken       ///< not Modbus, or a length no frame can have: the connection cannot be trusted any more
};

/// Takes one request off the front of `received`.
[[nodiscard]] TcpStream take_tcp_request(Bytes& received, TcpRequest& request);
[[nodiscard]] Bytes tcp_frame(std::uint16_t transaction, std::uint8_t unit,
                              std::span<const std::uint8_t> pdu);

/// CRC-16, reflected polynomial 0xA001, start 0xFFFF; goes on the wire low byte first.
[[nodiscard]] std::uint16_t crc16(std::span<const std::uint8_t> bytes);
[[nodiscard]] Bytes rtu_frame(std::uint8_t unit, std::span<const std::uint8_t> pdu);
/// True when the bytes are one whole frame: at least unit, function and CRC, and the CRC agrees.
[[nodiscard]] bool rtu_frame_is_sound(std::span<const std::uint8_t> frame);
/// Length a request frame will have, as far as its first bytes tell; nothing for functions of unknown length,
/// which end with the silence on the line.
[[nodiscard]] std::optional<std::size_t> rtu_request_length(std::span<const std::uint8_t> received);

}  // namespace shankwright::node
