#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "hmi/server/desk.hpp"
#include "quantity/result.hpp"

namespace shankwright::ports {
class Clock;
class RecordStore;
class StationPort;
}  // namespace shankwright::ports
namespace shankwright::library {
struct Library;
struct Shop;
}  // namespace shankwright::library
namespace shankwright::accounts {
class Accounts;
}

/// HTTP over the ports: what hmi/openapi.yaml describes, and nothing of the station besides.
namespace shankwright::hmi {

struct ServerOptions {
  std::string host = "127.0.0.1";  ///< address to listen on; anything but loopback is a deliberate choice
  int port = 8080;                 ///< 0 takes a free one; start() says which
  std::vector<std::string> host_names;  ///< further names clients may reach this station by (Host header)
  std::string press_id;  ///< whose ram area turns pressure into force; empty: the library's only press
  std::int64_t session_idle_s = 12 * 3600;   ///< a session unused for longer has ended
  std::int64_t session_whole_s = 16 * 3600;  ///< and one older than this, however busy
  std::size_t exports_most = 4;   ///< long answers at once, each with a thread and a view of the record
  std::size_t streams_most = 12;  ///< live event streams at once; each holds a thread. More are answered 503
};

/// One listening server. The referred-to objects must outlive it. All of them are called from several
/// threads.
class Server {
 public:
  Server(ServerOptions options, ports::StationPort& station, const ports::RecordStore& record,
         const library::Library& library, const library::Shop& shop, const ports::Clock& clock,
         accounts::Accounts& accounts, const Desk& desk = {});
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;
  ~Server();  ///< stops

  /// Binds and begins to answer. The port, or why it cannot listen (address in use, unknown host). Call once.
  [[nodiscard]] Result<int> start();
  /// Ends every stream and connection and joins every thread; well under a second. Idempotent.
  void stop();

 private:
  class Running;
  std::unique_ptr<Running> running_;
};

}  // namespace shankwright::hmi
