#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "drivers/modbus/address.hpp"
#include "drivers/modbus/profile.hpp"

/// One Modbus connection, over TCP or a serial line. Not thread-safe: one thread owns it.
namespace shankwright::modbus {

/// How a request ended.
struct Outcome {
  enum class Kind : std::uint8_t {
    ok,
    exception,     ///< a well-formed answer that says no
    timeout,       ///< no whole answer in time
    garbled,       ///< bytes came that are no answer to this request: another transaction, a bad CRC, a wrong
                   ///< length
    closed,        ///< the connection is gone
    not_connected  ///< nothing was sent
  };
  Kind kind = Kind::ok;
  int exception_code = 0;
  std::string words;  ///< why, for people: "exception 02, illegal data address"; empty when ok
  [[nodiscard]] bool ok() const { return kind == Kind::ok; }
};

/// Names of Modbus Application Protocol V1.1b3, section 7: "exception 02, illegal data address".
[[nodiscard]] std::string exception_words(int code);

class Client {
 public:
  /// Makes the connection's context; does not connect. `response_timeout_ms` bounds a whole request and its
  /// answer (on a serial line the time the bytes need on the wire is added).
  [[nodiscard]] static Result<std::shared_ptr<Client>> make(const Address& address, int unit_id,
                                                            int response_timeout_ms);
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;
  ~Client();

  /// Waits at most the response time-out (a host given by name may take longer to look up).
  [[nodiscard]] Outcome connect();
  void close();
  [[nodiscard]] bool connected() const { return connected_; }
  [[nodiscard]] bool is_serial() const { return address_.transport == Address::Transport::rtu; }

  /// Function 03 or 04; `into` has window.count registers.
  [[nodiscard]] Outcome read(int function, Window window, std::span<std::uint16_t> into);
  /// Function 06.
  [[nodiscard]] Outcome write_one(std::uint16_t address, std::uint16_t value);
  /// Function 16.
  [[nodiscard]] Outcome write_many(std::uint16_t address, std::span<const std::uint16_t> values);

  /// Throws away what a late answer may still bring. On a serial line, where answers carry no transaction
  /// number, waits one more response time so that an old answer is never taken for a new one.
  void discard_late_answers();

 private:
  struct Context;
  Client(const Address& address, int unit_id, int response_timeout_ms, std::unique_ptr<Context> context);
  void allow_wire_time(std::size_t request_bytes, std::size_t answer_bytes);
  Outcome judge(int result, int wanted);

  Address address_;
  int response_timeout_us_;
  int allowed_us_ = 0;
  bool connected_ = false;
  std::unique_ptr<Context> context_;
};

}  // namespace shankwright::modbus
