#pragma once
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

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
};

struct Reply {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
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
};

}  // namespace shankwright::hmi
