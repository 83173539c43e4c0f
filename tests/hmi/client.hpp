#pragma once
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "demo_accounts.hpp"
#include "fake_review.hpp"
#include "fake_station.hpp"
#include "hmi/server/server.hpp"
#include "demo_workshop.hpp"
#include "jobs/job_book.hpp"

/// A server over the fakes on a free port, and a client that speaks HTTP/1.1 by hand over a plain socket: it
/// can say what a polite client library would not, and shares no code with the server.
namespace shankwright::hmi_test {

struct Answer {
  int status = 0;                                   ///< 0: the connection ended without one
  std::multimap<std::string, std::string> headers;  ///< names in lower case
  std::string body;
  [[nodiscard]] std::string header(const std::string& name) const;
  [[nodiscard]] nlohmann::json json() const;  ///< fails the test when the body is not JSON
};

/// One connection, closed by the destructor.
class Connection {
 public:
  explicit Connection(int port);
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;
  ~Connection();
  void send(std::string_view bytes);
  void end_sending();
  /// Reads one answer; gives up after `seconds`. A 1xx is passed over; the answer to HEAD has no body.
  [[nodiscard]] Answer receive(int seconds = 10, bool to_head = false);
  /// Everything that arrives within `ms`, or until the peer closes.
  [[nodiscard]] std::string read_for(int ms);
  /// Waits for `text` to have arrived; everything so far, which lacks it when `ms` are over.
  [[nodiscard]] std::string read_until(std::string_view text, int ms);
  /// True when the peer closes within `ms`; what arrives before is dropped.
  [[nodiscard]] bool closes_within(int ms);

 private:
  bool more(int ms);
  int socket_ = -1;
  std::string buffer_;
};

struct Call {
  std::string method = "GET", path = "/";
  std::string body{}, token{};
  std::string content_type = "application/json";
  std::string host = "127.0.0.1:8080", origin{};
  std::string more_headers{};  ///< whole lines, each ending in CRLF
};
[[nodiscard]] std::string request_text(const Call& call);

/// The body that signs a person in with the PIN that everybody has.
[[nodiscard]] std::string sign_in_body(const std::string& person, const std::string& pin = DemoAccounts::pin);

class Rig {
 public:
  explicit Rig(hmi::ServerOptions options = {});
  [[nodiscard]] Answer call(const Call& call) const;  ///< on a connection of its own
  [[nodiscard]] Answer get(const std::string& path) const;
  [[nodiscard]] Answer post(const std::string& path, const std::string& body, const std::string& token) const;
  /// With the PIN that everybody has; the token.
  [[nodiscard]] std::string sign_in(const std::string& person) const;

  FakeClock clock;
  DemoAccounts accounts{clock};
  FakeStation station;
  FakeRecord record;
  FakeReview review{record};
  jobs::JobBook jobs{accounts.store, clock};
  DemoWorkshop workshop{accounts.store, accounts.get(), clock};
  library::Library library = demo_library();
  library::Shop shop = demo_shop();
  int port = 0;
  std::unique_ptr<hmi::Server> server;
};

}  // namespace shankwright::hmi_test
