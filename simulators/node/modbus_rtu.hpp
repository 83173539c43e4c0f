#pragma once
#include <cstdint>
#include <memory>
#include <string>

#include "quantity/result.hpp"
#include "simulators/node/link_faults.hpp"
#include "simulators/node/modbus_pdu.hpp"

namespace shankwright::node {

struct SerialLine {
  std::string device;  ///< "/dev/ttyUSB0", or one end of a pseudo-terminal pair
  int baud = 115200;   ///< 9600, 19200, 38400, 57600 or 115200
  char parity = 'N';   ///< 'N', 'E' or 'O'; 8 data bits, 1 stop bit
};

/// Modbus RTU server on one serial line: one thread. Unit id 1 is answered; other unit ids, broadcasts and
/// frames with a wrong CRC are met with silence and nothing is taken.
class ModbusRtuServer {
 public:
  /// Opens the line. The Problem tells why not. `bank` and `faults` must outlive the server.
  [[nodiscard]] static Result<std::shared_ptr<ModbusRtuServer>> start(const SerialLine& line,
                                                                      RegisterBank& bank,
                                                                      const LinkFaultSwitch& faults,
                                                                      std::uint64_t seed);
  virtual ~ModbusRtuServer() = default;  ///< stops the thread and closes the line
};

}  // namespace shankwright::node
