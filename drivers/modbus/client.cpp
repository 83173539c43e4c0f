#include "drivers/modbus/client.hpp"

#include <arpa/inet.h>
#include <modbus/modbus.h>

#include <cerrno>
#include <chrono>
#include <thread>

namespace shankwright::modbus {

struct Client::Context {
  explicit Context(modbus_t* made) : handle(made) {}
  Context(const Context&) = delete;
  Context& operator=(const Context&) = delete;
  ~Context() { modbus_free(handle); }
  modbus_t* handle;
};

std::string exception_words(int code) {
  const char* name = "a code outside the standard";
  switch (code) {
    case 1:
      name = "illegal function";
      break;
    case 2:
      name = "illegal data address";
      break;
    case 3:
      name = "illegal data value";
      break;
    case 4:
      name = "server device failure";
      break;
    case 5:
      name = "acknowledge, still working";
      break;
    case 6:
      name = "server device busy";
      break;
    case 7:
      name = "negative acknowledge";
      break;
    case 8:
      name = "memory parity error";
      break;
    case 10:
      name = "gateway path unavailable";
      break;
    case 11:
      name = "gateway target device failed to respond";
      break;
    default:
      break;
  }
  if (code <= 0) return std::string("an exception with ") + name;
  return "exception " + std::string(code < 10 ? "0" : "") + std::to_string(code) + ", " + name;
}

Result<std::shared_ptr<Client>> Client::make(const Address& address, int unit_id, int response_timeout_ms) {
  modbus_t* handle = nullptr;
  if (address.transport == Address::Transport::tcp) {
    in_addr ignored{};
    // A numeric address never waits for a name server.
    handle = inet_pton(AF_INET, address.host.c_str(), &ignored) == 1
                 ? modbus_new_tcp(address.host.c_str(), address.port)
                 : modbus_new_tcp_pi(address.host.c_str(), std::to_string(address.port).c_str());
  } else {
    handle = modbus_new_rtu(address.device.c_str(), address.baud, address.parity, address.data_bits,
                            address.stop_bits);
  }
  if (handle == nullptr)
    return Problem{"press address", std::string("a context that cannot be made: ") + modbus_strerror(errno),
                   "an address that this machine can use"};
  auto context = std::make_unique<Context>(handle);
  if (unit_id < 0 || unit_id > 255 || modbus_set_slave(handle, unit_id) != 0)
    return Problem{"unit id", std::to_string(unit_id), "1 to 247"};
  if (response_timeout_ms < 1 || response_timeout_ms > 60000)
    return Problem{"response time-out", std::to_string(response_timeout_ms) + " ms", "1 ms to 60000 ms"};
  // libmodbus's own recovery sleeps inside the call and reconnects behind our back; the beat could not be
  // kept then.
  modbus_set_error_recovery(handle, MODBUS_ERROR_RECOVERY_NONE);
  // Without a byte time-out the response time-out bounds the whole answer, also one that dribbles in.
  modbus_set_byte_timeout(handle, 0, 0);
  return std::shared_ptr<Client>(new Client(address, unit_id, response_timeout_ms, std::move(context)));
}

Client::Client(const Address& address, int, int response_timeout_ms, std::unique_ptr<Context> context)
    : address_(address), response_timeout_us_(response_timeout_ms * 1000), context_(std::move(context)) {}

Client::~Client() {
  close();
}

Outcome Client::connect() {
  close();
  allow_wire_time(0, 0);
  if (modbus_connect(context_->handle) != 0) {
    const int error = errno;
    modbus_close(context_->handle);
    return {Outcome::Kind::closed, 0, std::string("cannot connect: ") + modbus_strerror(error)};
  }
  connected_ = true;
  modbus_flush(context_->handle);
  return {};
}

void Client::close() {
  if (connected_) modbus_close(context_->handle);
  connected_ = false;
}

void Client::allow_wire_time(std::size_t request_bytes, std::size_t answer_bytes) {
  std::int64_t allowed_us = response_timeout_us_;
  if (is_serial()) {
    const std::int64_t bits = 1 + address_.data_bits + (address_.parity == 'N' ? 0 : 1) + address_.stop_bits;
    allowed_us += static_cast<std::int64_t>(request_bytes + answer_bytes) * bits * 1000000 / address_.baud;
  }
  if (allowed_us == allowed_us_) return;
  allowed_us_ = static_cast<int>(allowed_us);
  modbus_set_response_timeout(context_->handle, static_cast<std::uint32_t>(allowed_us / 1000000),
                              static_cast<std::uint32_t>(allowed_us % 1000000));
}

Outcome Client::judge(int result, int wanted) {
  if (result == wanted) return {};
  const int error = errno;
  if (result >= 0) return {Outcome::Kind::garbled, 0, "an answer of another length than asked for"};
  if (error > MODBUS_ENOBASE && error <= EMBXGTAR) {
    const int code = error - MODBUS_ENOBASE;
    return {Outcome::Kind::exception, code, exception_words(code)};
  }
  if (error == EMBBADEXC) return {Outcome::Kind::exception, 0, exception_words(0)};
  if (error == ETIMEDOUT)
    return {Outcome::Kind::timeout, 0, "no answer within " + std::to_string(allowed_us_ / 1000) + " ms"};
  if (error >= EMBBADCRC && error <= EMBBADSLAVE)
    return {Outcome::Kind::garbled, 0, std::string("an answer that is none: ") + modbus_strerror(error)};
  close();
  return {Outcome::Kind::closed, 0, std::string("connection lost: ") + modbus_strerror(error)};
}

Outcome Client::read(int function, Window window, std::span<std::uint16_t> into) {
  if (!connected_) return {Outcome::Kind::not_connected, 0, "not connected"};
  // Request: unit, function, address, count, CRC. Answer: unit, function, byte count, registers, CRC.
  allow_wire_time(8, 5 + 2 * static_cast<std::size_t>(window.count));
  const int got =
      function == 3 ? modbus_read_registers(context_->handle, window.start, window.count, into.data())
                    : modbus_read_input_registers(context_->handle, window.start, window.count, into.data());
  return judge(got, window.count);
}

Outcome Client::write_one(std::uint16_t address, std::uint16_t value) {
  if (!connected_) return {Outcome::Kind::not_connected, 0, "not connected"};
  allow_wire_time(8, 8);
  return judge(modbus_write_register(context_->handle, address, value), 1);
}

Outcome Client::write_many(std::uint16_t address, std::span<const std::uint16_t> values) {
  if (!connected_) return {Outcome::Kind::not_connected, 0, "not connected"};
  allow_wire_time(9 + 2 * values.size(), 8);
  const int count = static_cast<int>(values.size());
  return judge(modbus_write_registers(context_->handle, address, count, values.data()), count);
}

void Client::discard_late_answers() {
  if (!connected_) return;
  if (is_serial()) std::this_thread::sleep_for(std::chrono::microseconds(allowed_us_));
  modbus_flush(context_->handle);
}

}  // namespace shankwright::modbus
