#pragma once
#include <arpa/inet.h>
#include <modbus/modbus.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <cstdint>
#include <functional>
#include <mutex>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace shankwright::test {

/// libmodbus's own TCP server in a thread, with registers a test fills: a second opinion on the wire format,
/// and the other end of the benchmark. Serves one connection at a time, the newest.
class ModbusServer {
 public:
  explicit ModbusServer(int registers = 400) {
    context_ = modbus_new_tcp("127.0.0.1", 0);
    mapping_ = modbus_mapping_new(0, 0, registers, registers);
    if (context_ == nullptr || mapping_ == nullptr) throw std::runtime_error("no Modbus server");
    listening_ = modbus_tcp_listen(context_, 4);
    sockaddr_in bound{};
    socklen_t size = sizeof bound;
    if (listening_ < 0 || getsockname(listening_, reinterpret_cast<sockaddr*>(&bound), &size) != 0)
      throw std::runtime_error("no port for the Modbus server");
    port_ = ntohs(bound.sin_port);
    thread_ = std::thread([this] { serve(); });
  }
  ModbusServer(const ModbusServer&) = delete;
  ModbusServer& operator=(const ModbusServer&) = delete;
  ~ModbusServer() {
    stop_ = true;
    thread_.join();
    ::close(listening_);
    modbus_mapping_free(mapping_);
    modbus_free(context_);
  }

  [[nodiscard]] std::string address() const { return "tcp:127.0.0.1:" + std::to_string(port_); }
  /// Works on the registers between two requests.
  void with(const std::function<void(std::uint16_t* input, std::uint16_t* holding)>& work) {
    const std::lock_guard lock(mutex_);
    work(mapping_->tab_input_registers, mapping_->tab_registers);
  }
  /// Called before each answer, with the registers, under the lock. Set before the first connection.
  std::function<void(std::uint16_t* input, std::uint16_t* holding)> before_answer;
  /// Requests so far, without transaction numbers: unit, function and data.
  [[nodiscard]] std::vector<std::vector<std::uint8_t>> requests() {
    const std::lock_guard lock(mutex_);
    return requests_;
  }
  bool keep_requests = true;

 private:
  void serve() {
    std::vector<pollfd> waits{{listening_, POLLIN, 0}};
    std::uint8_t query[MODBUS_TCP_MAX_ADU_LENGTH];
    while (!stop_) {
      if (poll(waits.data(), waits.size(), 50) <= 0) continue;
      for (std::size_t i = waits.size() - 1; i > 0; --i) {
        if (waits[i].revents == 0 || answer(waits[i].fd, query)) continue;
        ::close(waits[i].fd);
        waits.erase(waits.begin() + static_cast<std::ptrdiff_t>(i));
      }
      if ((waits[0].revents & POLLIN) == 0) continue;
      const int connection = ::accept(listening_, nullptr, nullptr);
      const int now = 1;
      setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &now, sizeof now);
      waits.push_back({connection, POLLIN, 0});
    }
    for (std::size_t i = 1; i < waits.size(); ++i) ::close(waits[i].fd);
  }
  bool answer(int connection, std::uint8_t* query) {
    modbus_set_socket(context_, connection);
    const int length = modbus_receive(context_, query);
    if (length <= 0) return false;
    const std::lock_guard lock(mutex_);
    if (keep_requests) requests_.emplace_back(query + 6, query + length);
    if (before_answer) before_answer(mapping_->tab_input_registers, mapping_->tab_registers);
    return modbus_reply(context_, query, length, mapping_) > 0;
  }

  modbus_t* context_ = nullptr;
  modbus_mapping_t* mapping_ = nullptr;
  int listening_ = -1, port_ = 0;
  std::atomic<bool> stop_ = false;
  std::mutex mutex_;
  std::vector<std::vector<std::uint8_t>> requests_;
  std::thread thread_;
};

}  // namespace shankwright::test
