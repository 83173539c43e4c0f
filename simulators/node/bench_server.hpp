#pragma once
#include <cstdint>
#include <memory>
#include <string>

#include "quantity/result.hpp"
#include "simulators/node/bench_desk.hpp"

namespace shankwright::node {

/// The bench over HTTP: the routes of BenchDesk and a plain page at GET /. Simulation only; no sessions. A
/// page of another origin cannot act on it: bodies must be application/json and a browser's Origin must match
/// Host.
class BenchServer {
 public:
  /// Starts serving. Port 0 takes a free one. The Problem tells why not. `desk` must outlive the server.
  [[nodiscard]] static Result<std::shared_ptr<BenchServer>> start(const std::string& host, std::uint16_t port,
                                                                  const BenchDesk& desk);
  virtual ~BenchServer() = default;  ///< stops serving
  [[nodiscard]] virtual std::uint16_t port() const = 0;
};

}  // namespace shankwright::node
