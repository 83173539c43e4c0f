#pragma once
#include <string>
#include <string_view>

#include "quantity/result.hpp"

namespace shankwright::modbus {

/// Where a press answers: "tcp:HOST:PORT" (HOST a name, an IPv4 address or an IPv6 address in brackets) or
/// "rtu:DEVICE:BAUD:FORMAT" (FORMAT data bits, parity N, E or O, stop bits: "8N1").
struct Address {
  enum class Transport { tcp, rtu };
  Transport transport = Transport::tcp;
  std::string host;    ///< tcp
  int port = 0;        ///< tcp
  std::string device;  ///< rtu
  int baud = 0, data_bits = 8, stop_bits = 1;
  char parity = 'N';
};

[[nodiscard]] Result<Address> parse_address(std::string_view text);

}  // namespace shankwright::modbus
