#include "simulators/node/modbus_rtu.hpp"

#include <fcntl.h>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <map>
#include <thread>

#include "simulators/node/modbus_frame.hpp"

namespace shankwright::node {
namespace {

// The specification ends a frame after 3.5 characters of silence, 1.75 ms at high rates. A desktop system
// cannot keep that apart from its own scheduling, so frames end by their length and silence only clears what
// is left over.
constexpr int silence_ms = 20;

Problem line_problem(const SerialLine& line, const std::string& why) {
  return {"serial line", line.device + " (" + why + ")", "a serial device that this user may open"};
}

class Server final : public ModbusRtuServer {
 public:
  Server(int fd, RegisterBank& bank, const LinkFaultSwitch& faults, std::uint64_t seed)
      : fd_(fd), bank_(bank), faults_(faults), random_(seed), thread_([this] { run(); }) {}
  ~Server() override {
    stopping_ = true;
    thread_.join();
    ::close(fd_);
  }

 private:
  void run() {
    while (!stopping_) {
      pollfd polled{fd_, POLLIN, 0};
      const int ready = ::poll(&polled, 1, silence_ms);
      if (ready == 0) {
        if (rtu_frame_is_sound(received_)) reply();  // a function whose length only the silence tells
        received_.clear();
        continue;
      }
      std::array<std::uint8_t, rtu_frame_size_max> buffer{};
      const ssize_t size = ready > 0 ? ::read(fd_, buffer.data(), buffer.size()) : 0;
      if (size <= 0) {  // the other end of a pseudo-terminal may be away for a while
        std::this_thread::sleep_for(std::chrono::milliseconds(silence_ms));
        continue;
      }
      received_.insert(received_.end(), buffer.begin(), buffer.begin() + size);
      const auto length = rtu_request_length(received_);
      if (length && received_.size() == *length && rtu_frame_is_sound(received_)) {
        reply();
        received_.clear();
      } else if (received_.size() > rtu_frame_size_max) {
        received_.clear();
      }
    }
  }

  void reply() {
    if (received_[0] != unit_id) return;
    const LinkFaults faults = faults_.now();
    const auto pdu = answer_under(faults, std::span(received_).subspan(1, received_.size() - 3), bank_);
    if (!pdu) return;
    Bytes frame = rtu_frame(unit_id, *pdu);
    spoil(faults, frame, random_);
    for (int waited = 0; waited < faults.delay_ms && !stopping_; waited += 5) {
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    for (std::size_t sent = 0; sent < frame.size() && !stopping_;) {
      const ssize_t size = ::write(fd_, frame.data() + sent, frame.size() - sent);
      if (size > 0) {
        sent += static_cast<std::size_t>(size);
      } else if (size < 0 && errno != EAGAIN && errno != EINTR) {
        return;
      } else {
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
      }
    }
  }

  int fd_;
  RegisterBank& bank_;
  const LinkFaultSwitch& faults_;
  plant::Random random_;
  Bytes received_;
  std::atomic<bool> stopping_ = false;
  std::thread thread_;  // last: starts when everything else is there
};

}  // namespace

Result<std::shared_ptr<ModbusRtuServer>> ModbusRtuServer::start(const SerialLine& line, RegisterBank& bank,
                                                                const LinkFaultSwitch& faults,
                                                                std::uint64_t seed) {
  static const std::map<int, speed_t> speeds{
      {9600, B9600}, {19200, B19200}, {38400, B38400}, {57600, B57600}, {115200, B115200}};
  const auto speed = speeds.find(line.baud);
  if (speed == speeds.end()) {
    return Problem{"baud rate", std::to_string(line.baud), "9600, 19200, 38400, 57600 or 115200"};
  }
  const int fd = ::open(line.device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) return line_problem(line, std::strerror(errno));
  termios settings{};
  if (::tcgetattr(fd, &settings) != 0) {
    const std::string why = std::strerror(errno);
    ::close(fd);
    return line_problem(line, why);
  }
  ::cfmakeraw(&settings);
  settings.c_cflag |= CLOCAL | CREAD;
  settings.c_cflag &= ~static_cast<tcflag_t>(CSTOPB | PARENB | PARODD);
  if (line.parity != 'N') settings.c_cflag |= PARENB;
  if (line.parity == 'O') settings.c_cflag |= PARODD;
  ::cfsetispeed(&settings, speed->second);
  ::cfsetospeed(&settings, speed->second);
  if (::tcsetattr(fd, TCSANOW, &settings) != 0) {
    const std::string why = std::strerror(errno);
    ::close(fd);
    return line_problem(line, why);
  }
  ::tcflush(fd, TCIOFLUSH);
  return std::shared_ptr<ModbusRtuServer>(std::make_shared<Server>(fd, bank, faults, seed));
}

}  // namespace shankwright::node
