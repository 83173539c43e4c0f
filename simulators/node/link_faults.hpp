#pragma once
#include <cstdint>
#include <mutex>
#include <optional>

#include "simulators/node/modbus_pdu.hpp"
#include "simulators/plant/random.hpp"

namespace shankwright::node {

/// What is wrong with the line just now. Default: nothing.
struct LinkFaults {
  bool dropped = false;             ///< connections are closed and new ones refused
  bool silent = false;              ///< requests vanish: nothing is taken, nothing answered
  bool answers_lost = false;        ///< requests are taken, the answers vanish
  bool garbled = false;             ///< one byte of each answer's head is flipped
  bool half_frames = false;         ///< only the first half of each answer is sent
  int delay_ms = 0;                 ///< answers come this late
  std::uint8_t exception_code = 0;  ///< not 0: every request gets this exception, nothing is taken
  bool operator==(const LinkFaults&) const = default;
};

/// The line's faults as the node sets them and its servers read them; any thread.
class LinkFaultSwitch {
 public:
  void set(const LinkFaults& faults) {
    const std::scoped_lock lock(mutex_);
    faults_ = faults;
  }
  [[nodiscard]] LinkFaults now() const {
    const std::scoped_lock lock(mutex_);
    return faults_;
  }

 private:
  mutable std::mutex mutex_;
  LinkFaults faults_;
};

/// Answers a request PDU as this line lets it; nothing when no answer leaves the node.
[[nodiscard]] std::optional<Bytes> answer_under(const LinkFaults& faults,
                                                std::span<const std::uint8_t> request, RegisterBank& bank);
/// Garbles or halves a whole frame. Only the first eight bytes are garbled: those a client can and must check
/// (over TCP the values themselves are protected by TCP, over a serial line the CRC covers all).
void spoil(const LinkFaults& faults, Bytes& frame, plant::Random& random);

}  // namespace shankwright::node
