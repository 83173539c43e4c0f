#include "simulators/operator/json_client.hpp"

#include <fmt/format.h>
#include <httplib.h>

namespace shankwright::demo {
namespace {

constexpr int seconds_to_connect = 5;
constexpr int seconds_to_answer = 15;
constexpr int tries_to_read = 3;

}  // namespace

struct JsonClient::Connection {
  explicit Connection(const std::string& url) : http(url) {
    http.set_keep_alive(true);
    http.set_tcp_nodelay(true);
    http.set_connection_timeout(seconds_to_connect);
    http.set_read_timeout(seconds_to_answer);
    http.set_write_timeout(seconds_to_answer);
  }
  httplib::Client http;
};

JsonClient::JsonClient(std::string called, const std::string& url)
    : called_(std::move(called)), url_(url), connection_(std::make_unique<Connection>(url)) {
  if (!connection_->http.is_valid() || url.rfind("http://", 0) != 0)
    throw Unreachable(fmt::format("{} is no address of a {}: give http://HOST:PORT", url, called_));
}
JsonClient::~JsonClient() = default;

void JsonClient::use_token(const std::string& token) {
  connection_->http.set_bearer_token_auth(token);
}

namespace {

Reply read(const httplib::Result& result, const std::string& called, const std::string& url) {
  if (!result)
    throw Unreachable(
        fmt::format("the {} does not answer at {} ({})", called, url, httplib::to_string(result.error())));
  Reply reply{result->status, Json::parse(result->body, nullptr, false)};
  if (reply.body.is_discarded())
    throw Unreachable(fmt::format("what answers at {} is no {}: status {}, and the body is not JSON", url,
                                  called, reply.status));
  return reply;
}

}  // namespace

Reply JsonClient::get(const std::string& path) {
  for (int attempt = 1;; ++attempt) {
    const auto result = connection_->http.Get(path);
    if (result || attempt == tries_to_read) return read(result, called_, url_);
  }
}

Reply JsonClient::post(const std::string& path, const Json& body) {
  return read(connection_->http.Post(path, body.dump(), "application/json"), called_, url_);
}

std::string problem_text(const Reply& reply) {
  const auto problem = reply.body.is_object() ? reply.body.find("problem") : reply.body.end();
  if (problem == reply.body.end() || !problem->is_object()) return fmt::format("status {}", reply.status);
  return fmt::format("{}: {}, expected {}", problem->value("place", ""), problem->value("found", ""),
                     problem->value("expected", ""));
}

}  // namespace shankwright::demo
