#pragma once
#include <cstdint>
#include <memory>
#include <string>

#include "quantity/result.hpp"
#include "simulators/node/link_faults.hpp"
#include "simulators/node/modbus_pdu.hpp"

namespace shankwright::node {

/// Modbus TCP server: one thread, any number of clients up to `clients_max`, requests answered in the order
/// they come. Unit id 1 is answered; every other unit id gets exception 0x0B, as from a gateway with nobody
/// behind it. A client that sends what is no Modbus is disconnected; nothing a client sends stops the server.
class ModbusTcpServer {
 public:
  static constexpr std::size_t clients_max = 32;

  /// Starts listening. Port 0 takes a free one. The Problem tells why not: address in use, unknown host.
  /// `bank` and `faults` must outlive the server.
  [[nodiscard]] static Result<std::shared_ptr<ModbusTcpServer>> start(const std::string& host,
                                                                      std::uint16_t port, RegisterBank& bank,
                                                                      const LinkFaultSwitch& faults,
                                                                      std::uint64_t seed);
  virtual ~ModbusTcpServer() = default;  ///< stops the thread and closes every connection
  [[nodiscard]] virtual std::uint16_t port() const = 0;
};

}  // namespace shankwright::node
