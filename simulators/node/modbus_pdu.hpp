#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "simulators/node/register_map.hpp"

/// Modbus requests and answers without any transport: MODBUS Application Protocol Specification V1.1b3,
/// sections 6 and 7, restricted to what the press map allows. Pure; any sequence of bytes has an answer.
namespace shankwright::node {

/// The register tables behind the server. Each call is one instant: a read never mixes two node cycles, and a
/// write is taken whole or not at all. Calls may come from several threads.
class RegisterBank {
 public:
  virtual ~RegisterBank() = default;
  [[nodiscard]] virtual InputRegisters read_input_registers() = 0;
  [[nodiscard]] virtual HoldingRegisters read_holding_registers() = 0;
  /// False: a value is illegal, nothing was taken. The range has been checked by the caller.
  [[nodiscard]] virtual bool write_holding_registers(std::uint16_t address,
                                                     std::span<const std::uint16_t> values) = 0;
};

namespace exception {
inline constexpr std::uint8_t illegal_function = 0x01;
inline constexpr std::uint8_t illegal_data_address = 0x02;
inline constexpr std::uint8_t illegal_data_value = 0x03;
inline constexpr std::uint8_t target_failed_to_respond = 0x0B;
}  // namespace exception

using Bytes = std::vector<std::uint8_t>;

/// Function code with its top bit set, then the code.
[[nodiscard]] Bytes exception_pdu(std::uint8_t function, std::uint8_t code);

/// The answer to one request PDU (function code and data, at least one byte). In this order: a function that
/// is not 03, 04, 06 or 16 gets exception 01; a request of the wrong length or a quantity outside the
/// specification's limits 03; an address range that leaves the table, even in part, 02; an illegal value 03.
[[nodiscard]] Bytes answer(std::span<const std::uint8_t> request, RegisterBank& bank);

}  // namespace shankwright::node
