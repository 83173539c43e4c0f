#include "simulators/node/link_faults.hpp"

#include <algorithm>

namespace shankwright::node {

std::optional<Bytes> answer_under(const LinkFaults& faults, std::span<const std::uint8_t> request,
                                  RegisterBank& bank) {
  if (faults.dropped || faults.silent) return std::nullopt;
  if (faults.exception_code != 0 && !request.empty()) return exception_pdu(request[0], faults.exception_code);
  Bytes pdu = answer(request, bank);
  if (faults.answers_lost) return std::nullopt;
  return pdu;
}

void spoil(const LinkFaults& faults, Bytes& frame, plant::Random& random) {
  if (faults.garbled && !frame.empty()) {
    const std::size_t head = std::min<std::size_t>(frame.size(), 8);
    const std::size_t at = random.bits() % head;
    frame[at] = static_cast<std::uint8_t>(frame[at] ^ (1 + random.bits() % 255));
  }
  if (faults.half_frames) frame.resize(frame.size() / 2);
}

}  // namespace shankwright::node
