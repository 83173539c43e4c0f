#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "library/library.hpp"
#include "simulators/node/press_node.hpp"

namespace shankwright::node {

/// What goes back to whoever asked: an HTTP status and a JSON text.
struct DeskReply {
  int status = 200;
  std::string json;
};

/// The bench's requests without HTTP: JSON in, acts on the press node's bench and contacts, JSON out.
/// Quantities come as texts with their unit; what is wrong is a Problem whose place is a JSON pointer (400),
/// what cannot be done just now is a Problem too (409). Any thread.
class BenchDesk {
 public:
  /// Both must outlive the desk.
  BenchDesk(PressNode& node, const library::Library& library) : node_(node), library_(library) {}

  [[nodiscard]] DeskReply state() const;  ///< GET /bench
  [[nodiscard]] DeskReply library()
      const;  ///< GET /bench/library: what can be drawn, mounted and measured with
  /// POST /bench/ACT with this body; an empty body is {}.
  [[nodiscard]] DeskReply act(std::string_view act, const std::string& body) const;

 private:
  [[nodiscard]] nlohmann::json part(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json die(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json mark(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json insert(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json pull_out(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json position(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json turn(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json take_out(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json hands(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json guard(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json emergency(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json remote(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json measure(const nlohmann::json& body) const;
  [[nodiscard]] nlohmann::json fault(const nlohmann::json& body) const;

  PressNode& node_;
  const library::Library& library_;
};

}  // namespace shankwright::node
