#include "simulators/node/modbus_pdu.hpp"

namespace shankwright::node {
namespace {

constexpr std::uint8_t read_holding = 0x03, read_input = 0x04, write_single = 0x06, write_multiple = 0x10;
constexpr unsigned read_quantity_max = 125;   // specification 6.3, 6.4
constexpr unsigned write_quantity_max = 123;  // specification 6.12

std::uint16_t word(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
}

void append_word(Bytes& out, std::uint16_t value) {
  out.push_back(static_cast<std::uint8_t>(value >> 8));
  out.push_back(static_cast<std::uint8_t>(value & 0xFF));
}

template <std::size_t Size>
Bytes read_answer(std::uint8_t function, unsigned address, unsigned quantity,
                  const std::array<std::uint16_t, Size>& table) {
  Bytes out{function, static_cast<std::uint8_t>(2 * quantity)};
  for (unsigned i = 0; i < quantity; ++i) append_word(out, table[address + i]);
  return out;
}

Bytes answer_read(std::span<const std::uint8_t> request, RegisterBank& bank) {
  const std::uint8_t function = request[0];
  if (request.size() != 5) return exception_pdu(function, exception::illegal_data_value);
  const unsigned address = word(request, 1), quantity = word(request, 3);
  if (quantity == 0 || quantity > read_quantity_max)
    return exception_pdu(function, exception::illegal_data_value);
  const std::size_t size = function == read_input ? input_register_count : holding_register_count;
  if (address + quantity > size) return exception_pdu(function, exception::illegal_data_address);
  return function == read_input ? read_answer(function, address, quantity, bank.read_input_registers())
                                : read_answer(function, address, quantity, bank.read_holding_registers());
}

Bytes answer_write_single(std::span<const std::uint8_t> request, RegisterBank& bank) {
  if (request.size() != 5) return exception_pdu(write_single, exception::illegal_data_value);
  const std::uint16_t address = word(request, 1), value = word(request, 3);
  if (address >= holding_register_count) return exception_pdu(write_single, exception::illegal_data_address);
  if (!bank.write_holding_registers(address, std::span(&value, 1))) {
    return exception_pdu(write_single, exception::illegal_data_value);
  }
  return {request.begin(), request.end()};
}

Bytes answer_write_multiple(std::span<const std::uint8_t> request, RegisterBank& bank) {
  if (request.size() < 6) return exception_pdu(write_multiple, exception::illegal_data_value);
  const std::uint16_t address = word(request, 1);
  const unsigned quantity = word(request, 3);
  if (quantity == 0 || quantity > write_quantity_max || request[5] != 2 * quantity ||
      request.size() != 6 + 2 * quantity) {
    return exception_pdu(write_multiple, exception::illegal_data_value);
  }
  if (address + quantity > holding_register_count) {
    return exception_pdu(write_multiple, exception::illegal_data_address);
  }
  std::vector<std::uint16_t> values;
  for (unsigned i = 0; i < quantity; ++i) values.push_back(word(request, 6 + 2 * i));
  if (!bank.write_holding_registers(address, values)) {
    return exception_pdu(write_multiple, exception::illegal_data_value);
  }
  return {request.begin(), request.begin() + 5};
}

}  // namespace

Bytes exception_pdu(std::uint8_t function, std::uint8_t code) {
  return {static_cast<std::uint8_t>(function | 0x80), code};
}

Bytes answer(std::span<const std::uint8_t> request, RegisterBank& bank) {
  if (request.empty()) return exception_pdu(0, exception::illegal_function);
  switch (request[0]) {
    case read_holding:
    case read_input:
      return answer_read(request, bank);
    case write_single:
      return answer_write_single(request, bank);
    case write_multiple:
      return answer_write_multiple(request, bank);
    default:
      return exception_pdu(request[0], exception::illegal_function);
  }
}

}  // namespace shankwright::node
