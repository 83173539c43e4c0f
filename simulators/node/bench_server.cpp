#include "simulators/node/bench_server.hpp"

#include <httplib.h>

#include <nlohmann/json.hpp>
#include <string_view>
#include <thread>

// The page, as bench_page.S takes it in.
extern "C" const char shankwright_bench_page[];
extern "C" const char shankwright_bench_page_end[];

namespace shankwright::node {
namespace {

constexpr std::size_t body_size_max = 64 * 1024;
constexpr auto json_type = "application/json";

void refuse(httplib::Response& response, int status, const Problem& problem) {
  response.status = status;
  const nlohmann::json text{
      {"problem", {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}}}};
  response.set_content(text.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace), json_type);
}

void answer(httplib::Response& response, const DeskReply& reply) {
  response.status = reply.status;
  response.set_content(reply.json, json_type);
}

/// A page from elsewhere, open in the same browser, must not press buttons here.
bool same_origin(const httplib::Request& request) {
  if (!request.has_header("Origin")) return true;
  return request.get_header_value("Origin") == "http://" + request.get_header_value("Host");
}

class Server final : public BenchServer {
 public:
  explicit Server(const BenchDesk& desk) {
    server_.set_payload_max_length(body_size_max);
    // The library's own choice, SO_REUSEPORT, would let two simulators share one port without a word.
    server_.set_socket_options([](socket_t socket) {
      const int on = 1;
      ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    });
    server_.set_tcp_nodelay(true);
    // An idle kept-alive connection holds a thread: enough of them that a few open pages never delay the
    // hands.
    server_.new_task_queue = [] { return new httplib::ThreadPool(32); };  // the server deletes it
    server_.set_default_headers({{"Cache-Control", "no-store"}, {"X-Content-Type-Options", "nosniff"}});
    server_.Get("/", [](const httplib::Request&, httplib::Response& response) {
      response.set_content(shankwright_bench_page,
                           static_cast<std::size_t>(shankwright_bench_page_end - shankwright_bench_page),
                           "text/html; charset=utf-8");
    });
    server_.Get("/bench", [&desk](const httplib::Request&, httplib::Response& response) {
      answer(response, desk.state());
    });
    server_.Get("/bench/library", [&desk](const httplib::Request&, httplib::Response& response) {
      answer(response, desk.library());
    });
    server_.Post(R"(/bench/([a-z_]+))", [&desk](const httplib::Request& request,
                                                httplib::Response& response) {
      const std::string type = request.get_header_value("Content-Type");
      if (!same_origin(request)) {
        return refuse(response, 403, {"Origin", request.get_header_value("Origin"), "this bench's own page"});
      }
      if (!request.body.empty() && type.substr(0, type.find(';')) != json_type) {
        return refuse(response, 415, {"Content-Type", type.empty() ? "nothing" : type, json_type});
      }
      answer(response, desk.act(request.matches[1].str(), request.body));
    });
    server_.set_error_handler([](const httplib::Request& request, httplib::Response& response) {
      if (!response.body.empty()) return;
      refuse(response, response.status,
             {"request", request.method + " " + request.path, "one of the bench's routes"});
    });
  }
  ~Server() override {
    server_.stop();
    if (thread_.joinable()) thread_.join();
  }
  [[nodiscard]] bool listen(const std::string& host, std::uint16_t port) {
    const int bound = port == 0                          ? server_.bind_to_any_port(host)
                      : server_.bind_to_port(host, port) ? port
                                                         : -1;
    if (bound <= 0) return false;
    port_ = static_cast<std::uint16_t>(bound);
    thread_ = std::thread([this] { server_.listen_after_bind(); });
    // stop() before the loop runs would be lost.
    while (!server_.is_running()) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    return true;
  }
  [[nodiscard]] std::uint16_t port() const override { return port_; }

 private:
  httplib::Server server_;
  std::uint16_t port_ = 0;
  std::thread thread_;
};

}  // namespace

Result<std::shared_ptr<BenchServer>> BenchServer::start(const std::string& host, std::uint16_t port,
                                                        const BenchDesk& desk) {
  auto server = std::make_shared<Server>(desk);
  if (!server->listen(host, port)) {
    return Problem{"bench address", host + ":" + std::to_string(port) + " (in use, or not of this machine)",
                   "an address of this machine and a free port, for example 127.0.0.1:8081"};
  }
  return std::shared_ptr<BenchServer>(std::move(server));
}

}  // namespace shankwright::node
