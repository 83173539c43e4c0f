#include "hmi/server/server.hpp"

#include <spdlog/spdlog.h>

#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <nlohmann/json.hpp>
#include <thread>

#include "accounts/accounts.hpp"
#include "hmi/server/connection.hpp"
#include "hmi/server/control.hpp"
#include "hmi/server/events.hpp"
#include "hmi/server/guards.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/routes.hpp"
#include "hmi/server/sessions.hpp"

namespace shankwright::hmi {
namespace {

constexpr std::size_t path_most = 512;

const httplib::Headers& security_headers() {
  static const httplib::Headers headers = {
      {"Content-Security-Policy",
       "default-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self'; frame-ancestors 'none'"},
      {"X-Content-Type-Options", "nosniff"},
      {"Referrer-Policy", "no-referrer"},
      {"X-Frame-Options", "DENY"},
      {"Cross-Origin-Opener-Policy", "same-origin"},
      {"Cross-Origin-Resource-Policy", "same-origin"},
  };
  return headers;
}

std::string session_token(const httplib::Request& http) {
  if (const auto authorization = http.get_header_value("Authorization"); authorization.starts_with("Bearer "))
    return authorization.substr(7);
  const std::string cookies = "; " + http.get_header_value("Cookie");
  constexpr std::string_view name = "; shankwright_session=";
  const auto at = cookies.find(name);
  if (at == std::string::npos) return "";
  const auto begin = at + name.size();
  return cookies.substr(begin, cookies.find(';', begin) - begin);
}

void send(const Reply& reply, httplib::Response& http) {
  http.status = reply.status;
  bool cache_said = false;
  for (const auto& [name, value] : reply.headers) {
    http.headers.erase(name);  // a policy of the reply's own, in place of the page's and not beside it
    http.set_header(name, value);
    cache_said = cache_said || name == "Cache-Control";
  }
  if (!cache_said) http.set_header("Cache-Control", "no-store");
  http.set_content(reply.body, reply.content_type);
}

/// The whole body, or the reply that refuses it. `reader` is null for methods that carry none.
std::optional<Reply> read_body(const httplib::Request& http, const httplib::ContentReader* reader,
                               std::string& body) {
  const bool chunked = http.has_header("Transfer-Encoding");
  const std::string length = http.get_header_value("Content-Length");
  if (reader == nullptr || (!chunked && (length.empty() || length == "0"))) {
    // A body where none belongs is not read; what it holds must not pass for the next request.
    if (chunked || !(length.empty() || length == "0")) current_exchange().close = true;
    return std::nullopt;
  }
  const auto refuse_unread = [](int status, const Problem& problem) {
    current_exchange().close = true;
    return refuse(status, problem);
  };
  const bool number = length.size() < 10 && length.find_first_not_of("0123456789") == std::string::npos;
  const Problem too_large{"Content-Length",
                          length.empty() ? "a longer body" : length.substr(0, 40) + " bytes",
                          "at most " + std::to_string(body_bytes_most) + " bytes"};
  if (!chunked && (!number || std::stoul(length) > body_bytes_most)) return refuse_unread(413, too_large);
  if (http.has_header("Content-Encoding"))
    return refuse_unread(
        415, {"Content-Encoding", http.get_header_value("Content-Encoding").substr(0, 80), "no encoding"});
  if (const auto problem = check_content_type(http.get_header_value("Content-Type")))
    return refuse_unread(415, *problem);
  const bool whole = (*reader)([&](const char* data, std::size_t size) {
    if (body.size() + size > body_bytes_most) return false;
    body.append(data, size);
    return true;
  });
  if (whole) return std::nullopt;
  if (chunked && body.size() + 1 >= body_bytes_most / 2) return refuse_unread(413, too_large);
  return refuse_unread(
      400, {"", "a body that ends early or takes too long", "as many bytes as Content-Length says"});
}

/// Only our own mistakes arrive here as exceptions.
void report(const httplib::Request& request, const std::exception_ptr& mistake) {
  const std::string asked = request.method + " " + current_exchange().path.substr(0, path_most);
  try {
    std::rethrow_exception(mistake);
  } catch (const std::exception& error) {
    spdlog::error("answering {}: {}", asked, error.what());
  } catch (...) {
    spdlog::error("answering {}: an exception of an unknown kind", asked);
  }
}

}  // namespace

class Server::Running {
 public:
  Running(ServerOptions options, ports::StationPort& station, const ports::RecordStore& record,
          const library::Library& library, const library::Shop& shop, const ports::Clock& clock,
          accounts::Accounts& accounts, const Desk& desk)
      : options_(std::move(options)),
        desk_(desk),
        sessions_({options_.session_idle_s * 1'000'000, options_.session_whole_s * 1'000'000}),
        service_{options_,  station,  record,   library,  shop, clock,
                 sessions_, control_, accounts, accounts, desk_} {
    http_.set_default_headers(security_headers());
    const auto plain = [this](const httplib::Request& request, httplib::Response& response) {
      handle(request, response, nullptr);
    };
    const auto with_body = [this](const httplib::Request& request, httplib::Response& response,
                                  const httplib::ContentReader& reader) {
      handle(request, response, &reader);
    };
    http_.Get("/", plain).Options("/", plain);
    http_.Post("/", with_body).Put("/", with_body).Patch("/", with_body).Delete("/", with_body);
    http_.set_exception_handler([](const httplib::Request& request, httplib::Response& response,
                                   std::exception_ptr mistake) {
      report(request, mistake);
      send(refuse(500,
                  {"", "a mistake in the station's own program", "an answer; the station's log says more"}),
           response);
    });
    // What the library refuses by itself (a request line or header it cannot read) gets a body in our shape.
    http_.set_error_handler(
        httplib::Server::HandlerWithResponse([](const httplib::Request&, httplib::Response& response) {
          if (!response.body.empty()) return httplib::Server::HandlerResponse::Unhandled;
          current_exchange().close = true;
          send(refuse(response.status,
                      {"", "a request this server does not take", "HTTP/1.1 as openapi.yaml describes"}),
               response);
          return httplib::Server::HandlerResponse::Handled;
        }));
  }
  ~Running() { stop(); }

  Result<int> start() {
    errno = 0;
    const int port = http_.bind(options_.host, options_.port);
    if (port == 0)
      return Problem{options_.host + ":" + std::to_string(options_.port),
                     errno != 0 ? std::strerror(errno) : "an address that cannot be listened on",
                     "an address of this machine and a port no other program listens on"};
    listener_ = std::thread([this] {
      http_.listen_after_bind();
      ended_ = true;
    });
    // The library's stop() does nothing before its loop runs, so nobody gets this server before that.
    while (!http_.is_running() && !ended_) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    return port;
  }

  void stop() {
    if (!listener_.joinable()) return;
    http_.end_connections();
    http_.stop();
    listener_.join();
  }

 private:
  void handle(const httplib::Request& http, httplib::Response& response,
              const httplib::ContentReader* reader) {
    Request request;
    // The body is taken off the connection first, so that after any refusal the next request starts where it
    // should.
    if (const auto refusal = read_body(http, reader, request.body)) return send(*refusal, response);
    const std::string host = http.get_header_value("Host");
    if (const auto problem = check_host(host, options_.host, options_.host_names))
      return send(refuse(403, *problem), response);
    if (const auto problem = check_origin(http.get_header_value("Origin"), host))
      return send(refuse(403, *problem), response);
    if (const auto problem = check_fetch_site(http.method, http.get_header_value("Sec-Fetch-Site")))
      return send(refuse(403, *problem), response);

    request.method = http.method;
    request.path = current_exchange().path;
    request.address = http.remote_addr;
    request.accepts_gzip = current_exchange().accepts_gzip;
    request.over_tls = is_https(http.get_header_value("Origin"));
    const Problem no_such_path{"path", request.path.substr(0, 100),
                               "a path of openapi.yaml or a file of the page"};
    if (request.path.size() > path_most) return send(refuse(404, no_such_path), response);
    const Match match = find_route(request.method, request.path);
    if (match.route == nullptr) return send(no_route(match, request, no_such_path), response);
    request.serial = match.parameter;

    for (const auto& [name, value] : http.params)
      if (!request.query.emplace(name, value).second)
        return send(refuse(400, {name.substr(0, 80), "the parameter twice", "each parameter once"}),
                    response);
    sign_in(http, request);
    if (match.route->answer == nullptr) return stream(http, request, response);
    auto reply = answer(service_, *match.route, request);
    if (reply.stream && http.method != "HEAD") return send_pieces(std::move(reply), response);
    send(reply, response);
  }

  static Reply no_route(const Match& match, const Request& request, const Problem& no_such_path) {
    if (match.allowed.empty()) return refuse(404, no_such_path);
    std::string allowed;
    for (const auto method : match.allowed) allowed += (allowed.empty() ? "" : ", ") + std::string(method);
    Reply reply = refuse(405, {"method", request.method, allowed});
    reply.headers.emplace_back("Allow", allowed);
    return reply;
  }

  void sign_in(const httplib::Request& http, Request& request) {
    request.token = session_token(http);
    if (request.token.empty()) return;
    const auto bearer = sessions_.find(request.token, service_.clock.monotonic_us());
    if (!bearer) return;
    // A removed person's rights, or those of a PIN that is no more, end here and now.
    auto standing = service_.accounts.standing(bearer->person_id);
    if (!standing || standing->sessions_ended_at != bearer->sessions_ended_at)
      return sessions_.close(request.token);
    request.person = std::move(standing->person);
    request.code_digest = bearer->code_digest;
  }

  /// A body of any length, in the memory of one piece.
  void send_pieces(Reply reply, httplib::Response& response) {
    if (++exports_ > options_.exports_most) {
      --exports_;
      Reply busy = refuse(503, {"", std::to_string(options_.exports_most) + " exports under way",
                                "fewer at once: try again in a moment"});
      busy.headers.emplace_back("Retry-After", "5");
      return send(busy, response);
    }
    response.status = reply.status;
    response.set_header("Cache-Control", "no-store");
    for (const auto& [name, value] : reply.headers) response.set_header(name, value);
    response.set_chunked_content_provider(
        reply.content_type,
        [this, write_all = std::move(reply.stream)](std::size_t, httplib::DataSink& sink) {
          // A peer that takes its pieces slower than this would keep a view of the record open for hours.
          constexpr std::chrono::seconds piece_most{10};
          const bool whole = write_all([&](std::string_view piece) {
            const auto begun = std::chrono::steady_clock::now();
            return !http_.stopping() && sink.write(piece.data(), piece.size()) &&
                   std::chrono::steady_clock::now() - begun < piece_most;
          });
          if (whole) sink.done();
          return whole;
        },
        [this](bool) { --exports_; });
  }

  void stream(const httplib::Request& http, const Request& request, httplib::Response& response) {
    if (http.method == "HEAD") return send({200, "text/event-stream", "", {}}, response);
    if (++streams_ > options_.streams_most) {
      --streams_;
      Reply reply = refuse(503, {"events", std::to_string(options_.streams_most) + " open event streams",
                                 "fewer screens: close one, or ask GET /api/v1/station instead"});
      reply.headers.emplace_back("Retry-After", "5");
      return send(reply, response);
    }
    response.status = 200;
    response.set_header("Cache-Control", "no-store");
    current_exchange().close = true;
    auto events = std::make_shared<EventStream>(service_, text_, request.token, http_.stopping());
    response.set_chunked_content_provider(
        "text/event-stream",
        [this, events](std::size_t, httplib::DataSink& sink) {
          while (!http_.stopping() && sink.is_writable()) {
            if (const auto event = events->next(std::chrono::milliseconds(100)))
              return sink.write(event->data(), event->size());
          }
          return false;
        },
        [this](bool) { --streams_; });
  }

  ServerOptions options_;
  Desk desk_;
  Sessions sessions_;
  Control control_{sessions_};
  Service service_;
  StationText text_{service_};
  std::atomic<std::size_t> streams_{0}, exports_{0};
  ConnectionServer http_;
  std::atomic<bool> ended_{false};
  std::thread listener_;
};

Server::Server(ServerOptions options, ports::StationPort& station, const ports::RecordStore& record,
               const library::Library& library, const library::Shop& shop, const ports::Clock& clock,
               accounts::Accounts& accounts, const Desk& desk)
    : running_(std::make_unique<Running>(std::move(options), station, record, library, shop, clock, accounts,
                                         desk)) {}

Server::~Server() = default;

Result<int> Server::start() {
  return running_->start();
}

void Server::stop() {
  running_->stop();
}

}  // namespace shankwright::hmi
