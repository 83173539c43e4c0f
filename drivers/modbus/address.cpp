#include "drivers/modbus/address.hpp"

#include <charconv>

namespace shankwright::modbus {
namespace {

constexpr const char* expected_address =
    "tcp:HOST:PORT or rtu:DEVICE:BAUD:FORMAT, for example tcp:192.0.2.10:502 or rtu:/dev/ttyUSB0:115200:8N1";

bool whole(std::string_view text, int least, int most, int& out) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  return error == std::errc() && end == text.data() + text.size() && out >= least && out <= most;
}

}  // namespace

Result<Address> parse_address(std::string_view text) {
  const Problem problem{"press address", text.empty() ? "nothing" : std::string(text), expected_address};
  Address out;
  const std::size_t last = text.rfind(':');
  if (last == std::string_view::npos || text.size() < 5) return problem;
  const std::string_view scheme = text.substr(0, 4), tail = text.substr(last + 1);
  if (scheme == "tcp:" && last > 4) {
    std::string_view host = text.substr(4, last - 4);
    if (host.front() == '[' && host.back() == ']')
      host = host.substr(1, host.size() - 2);
    else if (host.find(':') != std::string_view::npos)
      return problem;
    if (host.empty() || !whole(tail, 1, 65535, out.port)) return problem;
    out.host = host;
    return out;
  }
  if (scheme == "rtu:" && last > 4) {
    out.transport = Address::Transport::rtu;
    const std::string_view front = text.substr(4, last - 4);
    const std::size_t middle = front.rfind(':');
    if (middle == std::string_view::npos || middle == 0) return problem;
    out.device = front.substr(0, middle);
    if (!whole(front.substr(middle + 1), 300, 4000000, out.baud) || tail.size() != 3) return problem;
    out.data_bits = tail[0] - '0';
    out.parity = tail[1];
    out.stop_bits = tail[2] - '0';
    const bool parity = out.parity == 'N' || out.parity == 'E' || out.parity == 'O';
    // RTU sends eight data bits (Modbus over Serial Line V1.02, section 2.5.1).
    if (out.data_bits != 8 || !parity || out.stop_bits < 1 || out.stop_bits > 2) return problem;
    return out;
  }
  return problem;
}

}  // namespace shankwright::modbus
