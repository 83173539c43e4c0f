#pragma once
#include <nlohmann/json.hpp>

#include <memory>
#include <string>
#include <vector>

namespace shankwright::test {

/// A program that lives as long as this object; it is killed with it, and with the test should that die
/// first.
class Child {
 public:
  explicit Child(const std::vector<std::string>& command);
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;
  ~Child();
  /// The next line of its standard output; throws after `timeout_ms`.
  [[nodiscard]] std::string line(int timeout_ms = 20000);

 private:
  int process_ = -1, output_ = -1, input_ = -1;
  std::string pending_;
};

/// The control port of pymodbus_node.py or fault_proxy.py: one JSON object out, one back.
class ControlLine {
 public:
  explicit ControlLine(int port);
  ControlLine(const ControlLine&) = delete;
  ControlLine& operator=(const ControlLine&) = delete;
  ~ControlLine();
  nlohmann::json ask(const nlohmann::json& request);

 private:
  int socket_ = -1;
  std::string pending_;
};

/// tests/drivers/pymodbus_node.py, ready to answer.
class PressNode {
 public:
  explicit PressNode(const std::vector<std::string>& more_arguments = {});
  [[nodiscard]] std::string address() const { return "tcp:127.0.0.1:" + std::to_string(port_); }
  [[nodiscard]] int port() const { return port_; }
  nlohmann::json ask(const nlohmann::json& request) { return control_->ask(request); }
  nlohmann::json get() { return ask({{"get", true}}); }

 private:
  Child child_;
  int port_ = 0;
  std::unique_ptr<ControlLine> control_;
};

/// tests/drivers/fault_proxy.py in front of a node.
class FaultProxy {
 public:
  FaultProxy(int target_port, const std::vector<std::string>& more_arguments = {});
  [[nodiscard]] std::string address() const { return "tcp:127.0.0.1:" + std::to_string(port_); }
  nlohmann::json ask(const nlohmann::json& request) { return control_->ask(request); }

 private:
  Child child_;
  int port_ = 0;
  std::unique_ptr<ControlLine> control_;
};

}  // namespace shankwright::test
