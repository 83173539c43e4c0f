#pragma once
#include <memory>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

/// JSON over HTTP, as any client of the station or the bench would speak it.
namespace shankwright::demo {

using Json = nlohmann::json;

/// Nobody answers at an address. The text is a sentence for a person.
struct Unreachable : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// One fitting cannot go on. The text is a sentence for a person.
struct Stuck : std::runtime_error {
  using std::runtime_error::runtime_error;
};

struct Reply {
  int status = 0;
  Json body;
  [[nodiscard]] bool ok() const { return status >= 200 && status < 300; }
};

/// One service. Calls from one thread; each waits at most 15 s. Throws Unreachable when there is no answer,
/// or one that is not JSON.
class JsonClient {
 public:
  /// `called` is what a person calls the service; `url` is http://HOST:PORT.
  JsonClient(std::string called, const std::string& url);
  ~JsonClient();

  void use_token(const std::string& token);  ///< sent as a bearer token from now on
  [[nodiscard]] Reply get(const std::string& path);
  /// Not sent a second time when it fails: the first may have been taken.
  [[nodiscard]] Reply post(const std::string& path, const Json& body = Json::object());

 private:
  struct Connection;
  std::string called_, url_;
  std::unique_ptr<Connection> connection_;
};

/// What a "problem" answer says, in one line.
[[nodiscard]] std::string problem_text(const Reply& reply);

}  // namespace shankwright::demo
