#include <catch2/catch.hpp>
#include <random>

#include "client.hpp"
#include "hmi/server/json_in.hpp"
#include "hmi/server/routes.hpp"

// Goal: nothing a client can send crashes the server or makes it answer 5xx. Method: seeded random damage to
// sound bodies, heads and paths; the seed is fixed, and printed with every failure.
using namespace shankwright;
using namespace shankwright::hmi_test;

namespace {

constexpr std::uint64_t seed = 20310502;

class Damage {
 public:
  explicit Damage(std::uint64_t from) : random_(from) {}
  std::size_t below(std::size_t n) {
    return n == 0 ? 0 : std::uniform_int_distribution<std::size_t>(0, n - 1)(random_);
  }
  template <typename List>
  const auto& one_of(const List& list) {
    return list[below(std::size(list))];
  }
  std::string bytes(std::size_t n) {
    std::string out;
    for (std::size_t i = 0; i < n; ++i) out += static_cast<char>(below(256));
    return out;
  }
  /// Cuts, doubles, overwrites and inserts at random places.
  std::string damaged(std::string text) {
    static const std::string pieces[] = {"{",        "}",    "[",          "]",     "\"",      ",",
                                         ":",        "null", "-",          "1e308", "\\u0000", "\\ud800",
                                         "\xc3\x28", "mm",   "9999999999", "\n"};
    for (std::size_t times = 1 + below(4); times > 0; --times) {
      const std::size_t at = below(text.size() + 1);
      switch (below(4)) {
        case 0:
          text.erase(at, below(8));
          break;
        case 1:
          text.insert(at, one_of(pieces));
          break;
        case 2:
          text.insert(at, text.substr(below(text.size() + 1), below(20)));
          break;
        default:
          if (at < text.size()) text[at] = static_cast<char>(below(256));
      }
    }
    return text;
  }

 private:
  std::mt19937_64 random_;
};

const std::string bodies[] = {
    R"({"kind":"rope_diameter","gauge":"caliper-1","values":["4.77 mm","4.76 mm","4.78 mm"]})",
    R"({"kind":"across_flats","gauge":"m-1","stations":[["7.97 mm","7.98 mm","7.97 mm"]]})",
    R"({"kind":"surface","result":"sound"})",
    R"({"recipe":"a","job":"b","rope_lot":"c","terminal_lot":"d"})",
    R"({"disposition":"scrap","reason":"bent","pin":"4711"})",
    R"({"item":"gauge","id":"caliper-1","reason":"dropped"})",
    R"({"of":7,"text":"4.81 mm","reason":"figures swapped"})",
    R"({"person":"op-1","pin":"4711"})",
    ""};

}  // namespace

TEST_CASE("damaged bodies, paths and queries are answered, never with a fault of the server") {
  Rig rig;
  Damage damage(seed);
  const auto token = rig.sign_in("all-1");
  auto connection = std::make_unique<Connection>(rig.port);
  int taken = 0, refused = 0;
  for (int i = 0; i < 6000; ++i) {
    const auto& route = damage.one_of(hmi::routes());
    if (route.answer == nullptr) continue;
    Call call{.method = std::string(route.method), .path = std::string(route.path), .token = token};
    if (const auto at = call.path.find('{'); at != std::string::npos)
      call.path = call.path.substr(0, at) + "AT-gauge" + call.path.substr(call.path.find('}') + 1);
    if (damage.below(10) == 0) call.path = "/" + damage.damaged(call.path.substr(1));
    if (damage.below(5) == 0) call.path += "?" + damage.damaged("limit=10&from=2031-05-02&job=a%20b");
    for (auto& c : call.path)
      if (static_cast<unsigned char>(c) <= 0x20) c = '_';  // the request line itself stays one
    if (call.method != "GET")
      call.body =
          damage.below(8) == 0 ? damage.bytes(damage.below(300)) : damage.damaged(damage.one_of(bodies));
    if (call.method == "DELETE" && call.path.starts_with("/api/v1/session"))
      continue;                   // would end our session
    rig.clock.monotonic += 1000;  // of many sessions the oldest goes, not the one in use
    connection->send(request_text(call));
    const auto answer = connection->receive();
    INFO("seed " << seed << ", request " << i << ": " << request_text(call));
    REQUIRE(answer.status >= 200);
    REQUIRE(answer.status < 500);
    if (!call.path.starts_with("/api/v1/session")) REQUIRE(answer.status != 401);
    ++(answer.status < 300 ? taken : refused);
    if (answer.header("content-type") == "application/json") REQUIRE(nlohmann::json::accept(answer.body));
    if (answer.header("connection") == "close" || answer.status >= 400)
      connection = std::make_unique<Connection>(rig.port);
  }
  CHECK(taken > 500);  // the damage leaves enough whole to go deep
  CHECK(refused > 1000);
  CHECK(rig.get("/api/v1/station").status == 200);
}

TEST_CASE("damaged heads and plain noise leave the server answering") {
  const Rig rig;
  Damage damage(seed + 1);
  const std::string sound = request_text({.method = "POST",
                                          .path = "/api/v1/session",
                                          .body = bodies[5],
                                          .more_headers = "Range: bytes=0-5\r\nAccept-Encoding: gzip\r\n"});
  for (int i = 0; i < 1500; ++i) {
    Connection connection(rig.port);
    connection.send(damage.below(10) == 0 ? damage.bytes(damage.below(400)) : damage.damaged(sound));
    connection.end_sending();
    const auto answer = connection.receive(8);
    INFO("seed " << seed + 1 << ", request " << i);
    REQUIRE(answer.status < 500);
  }
  CHECK(rig.get("/api/v1/station").status == 200);
}

TEST_CASE("any text at all is read as evidence or refused with a reason") {
  Damage damage(seed + 2);
  int taken = 0;
  for (int i = 0; i < 200'000; ++i) {
    const std::string text = damage.damaged(damage.one_of(bodies));
    const auto read = hmi::read_evidence(text);
    if (read.ok()) {
      ++taken;
      continue;
    }
    if (read.problem().found.empty() || read.problem().expected.empty())
      FAIL("seed " << seed + 2 << ": " << text);
  }
  CHECK(taken > 0);
}
