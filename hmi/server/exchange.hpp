#pragma once
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "hmi/server/desk.hpp"
#include "hmi/server/server.hpp"
#include "library/library.hpp"
#include "people/person.hpp"

/// What a route sees of HTTP: plain values, so that no route depends on the HTTP library.
namespace shankwright::hmi {

class Control;
class Sessions;

struct Request {
  std::string method, path;
  std::map<std::string, std::string> query;
  std::string body;
  std::string serial;                    ///< the {serial}, {person} or {asset} of the path
  std::string token;                     ///< of the session, empty without one
  std::optional<people::Person> person;  ///< signed in, with the rights of this moment; or nothing
  std::string code_digest;               ///< not empty: signed in by this one-time code, only to set a PIN
  std::string address;                   ///< of the peer, as the connection has it
  bool accepts_gzip = false;
  bool over_tls = false;  ///< the page was loaded by https, through a proxy before this station
};

/// Hands a piece of a body on; false when the peer takes no more.
using Write = std::function<bool(std::string_view)>;

struct Reply {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
  /// In place of `body`: writes one of any length, piece by piece, and is called once. False when it did not
  /// come to its end; the connection is then cut off, so that nobody takes a part for the whole.
  std::function<bool(const Write&)> stream{};
};

/// Everything the routes stand on.
struct Service {
  const ServerOptions& options;
  ports::StationPort& station;
  const ports::RecordStore& record;
  const library::Library& library;
  const library::Shop& shop;
  const ports::Clock& clock;
  Sessions& sessions;
  Control& control;
  const people::People& people;
  accounts::Accounts& accounts;
  const Desk& desk;
};

}  // namespace shankwright::hmi
