#include <catch2/catch.hpp>
#include <set>

#include "client.hpp"
#include "hmi/server/routes.hpp"

// Goal: nothing unauthorised, oversized or misaddressed reaches the station. Method: each refusal on every
// route it applies to, and after each the station has been asked nothing.
using namespace shankwright;
using namespace shankwright::hmi_test;

namespace {

std::string filled(std::string_view path) {
  std::string out(path);
  if (const auto at = out.find('{'); at != std::string::npos)
    out = out.substr(0, at) + "AT-gauge" + out.substr(out.find('}') + 1);
  return out;
}

std::string sound_body(std::string_view path) {
  if (path.ends_with("/session")) return sign_in_body("op-1");
  if (path.ends_with("/session/pin")) return R"({"pin":"2580","old_pin":"4711"})";
  if (path.ends_with("/session/confirm")) return R"({"pin":"4711"})";
  if (path.ends_with("/people")) return R"({"id":"new-1","name":"Demo Newcomer","roles":["operator"]})";
  if (path.ends_with("/roles")) return R"({"roles":["operator"]})";
  if (path.ends_with("/qualification")) return R"({"family":"straight-shank-hexagon","until":"2031-12-31"})";
  if (path.ends_with("/fittings")) return R"({"recipe":"a","job":"b","rope_lot":"c","terminal_lot":"d"})";
  if (path.ends_with("/evidence")) return R"({"kind":"surface","result":"sound"})";
  if (path.ends_with("/disposition")) return R"({"disposition":"scrap","reason":"bent","pin":"4711"})";
  if (path.find("/quarantine") != std::string_view::npos)
    return R"({"item":"gauge","id":"caliper-1","reason":"dropped"})";
  if (path.ends_with("/corrections")) return R"({"of":7,"text":"4.81 mm","reason":"figures swapped"})";
  return "{}";
}

bool changes(const hmi::Route& route) {
  return route.method != "GET";
}

}  // namespace

TEST_CASE("without a session nothing changes, and the answer says where to get one") {
  const Rig rig;
  for (const auto& route : hmi::routes()) {
    if (!changes(route) || (route.method == "POST" && route.path == "/api/v1/session")) continue;
    for (const std::string token : {"", "0000", "Bearer"}) {
      const auto answer = rig.call({.method = std::string(route.method),
                                    .path = filled(route.path),
                                    .body = sound_body(route.path),
                                    .token = token});
      INFO(route.method << ' ' << route.path);
      CHECK(answer.status == 401);
      CHECK(answer.json().at("problem").at("expected").get<std::string>().find("POST /api/v1/session") !=
            std::string::npos);
    }
  }
  CHECK(rig.station.calls() == 0);
}

TEST_CASE(
    "another site open in the same browser reaches nothing: wrong Host and wrong Origin are refused "
    "everywhere") {
  const Rig rig;
  const auto token = rig.sign_in("all-1");
  const std::size_t before = rig.station.calls();
  for (const auto& route : hmi::routes()) {
    Call call{.method = std::string(route.method),
              .path = filled(route.path),
              .body = changes(route) ? sound_body(route.path) : "",
              .token = token};
    for (const std::string host : {"evil.example", "127.0.0.1.evil.example", "evil.example:8080", "",
                                   "localhost:80:80", "[::1", "192.0.2.7"}) {
      call.host = host;
      INFO(route.method << ' ' << route.path << " Host " << host);
      const auto answer = rig.call(call);
      CHECK(answer.status == 403);
      CHECK(answer.json().at("problem").at("place") == "Host");
    }
    call.host = "127.0.0.1:8080";
    for (const std::string origin : {"http://evil.example", "null", "http://127.0.0.1:8081",
                                     "http://127.0.0.1", "https://localhost:8080"}) {
      call.origin = origin;
      INFO(route.method << ' ' << route.path << " Origin " << origin);
      const auto answer = rig.call(call);
      CHECK(answer.status == 403);
      CHECK(answer.json().at("problem").at("place") == "Origin");
    }
  }
  CHECK(rig.station.calls() == before);
  for (const std::string host : {"localhost", "LOCALHOST:1", "127.0.0.1", "[::1]:8080", "[::1]"})
    CHECK(rig.call({.path = "/api/v1/station", .host = host, .origin = "http://" + host}).status == 200);
}

TEST_CASE("a path's other methods are refused with the ones it has") {
  const Rig rig;
  const auto token = rig.sign_in("all-1");
  for (const auto& route : hmi::routes())
    for (const std::string method : {"GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}) {
      const auto match = hmi::find_route(method, filled(route.path));
      if (match.route != nullptr) continue;
      const auto answer = rig.call({.method = method, .path = filled(route.path), .token = token});
      INFO(method << ' ' << route.path);
      CHECK(answer.status == 405);
      CHECK(answer.header("allow").find(route.method) != std::string::npos);
    }
  CHECK(rig.call({.method = "GET", .path = "/api/v1/fittings/AT-gauge/permit"}).header("allow") ==
        "POST, DELETE");
  CHECK(rig.get("/api/v1").status == 404);
  CHECK(rig.get("/api/v2/station").status == 404);
  CHECK(rig.get("/api/v1/fittings/a/b").status == 404);
  CHECK(rig.get("/api/v1/fittings/a%2Fb").status == 404);
  CHECK(rig.get("/../../etc/passwd").status == 404);
  CHECK(rig.get("/" + std::string(4000, 'a')).status == 404);
  CHECK(rig.get("/" + std::string(20000, 'a')).status == 414);
}

TEST_CASE("bodies that are too large, of another type or encoded are refused on every route that takes one") {
  const Rig rig;
  const auto token = rig.sign_in("all-1");
  const std::size_t before = rig.station.calls();
  const std::string large = sign_in_body(std::string(70'000, 'a'));
  for (const auto& route : hmi::routes()) {
    if (!changes(route)) continue;
    Call call{.method = std::string(route.method), .path = filled(route.path), .body = large, .token = token};
    INFO(route.method << ' ' << route.path);
    CHECK(rig.call(call).status == 413);
    call.body = sound_body(route.path);
    for (const std::string type :
         {"text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "",
          "application/json; charset=latin1", "application/jsonp", "text/plain, application/json"}) {
      call.content_type = type;
      INFO(type);
      const auto answer = rig.call(call);
      CHECK(answer.status == 415);
      CHECK(answer.json().at("problem").at("place") == "Content-Type");
    }
    call.content_type = "application/json";
    call.more_headers = "Content-Encoding: gzip\r\n";
    CHECK(rig.call(call).status == 415);
  }
  CHECK(rig.station.calls() == before);
  Call call{.method = "POST",
            .path = "/api/v1/session",
            .body = sign_in_body("op-1"),
            .content_type = "Application/JSON; charset=\"UTF-8\""};
  CHECK(rig.call(call).status == 200);
}

TEST_CASE("a body of exactly the limit is read, one byte more is not") {
  const Rig rig;
  std::string start = sign_in_body("op-1");
  start.pop_back();
  const auto padded = [&](std::size_t size) {
    return start + std::string(size - start.size() - 1, ' ') + "}";
  };
  CHECK(rig.post("/api/v1/session", padded(65536), "").status == 200);
  CHECK(rig.post("/api/v1/session", padded(65537), "").status == 413);
}

TEST_CASE("parameters that are unknown, misspelt, doubled or malformed are refused by name") {
  const Rig rig;
  const auto problem = [&](const std::string& query) {
    const auto answer = rig.get("/api/v1/fittings?" + query);
    INFO(query);
    CHECK(answer.status == 400);
    return answer.json().at("problem");
  };
  CHECK(problem("recipee=a").at("expected").get<std::string>().find("the nearest is \"recipe\"") !=
        std::string::npos);
  CHECK(problem("verdict=acepted").at("expected").get<std::string>().find("the nearest is \"accepted\"") !=
        std::string::npos);
  CHECK(problem("verdict=acepted").at("place") == "verdict");
  CHECK(problem("job=a&job=b").at("place") == "job");
  for (const std::string limit : {"0", "1001", "-1", "1.5", "ten", "", "99999999999999999999"})
    CHECK(problem("limit=" + limit).at("place") == "limit");
  for (const std::string day : {"2031-02-29", "2031-13-01", "2031-00-10", "31-05-02", "2031-5-2",
                                "2031/05/02", "20310502", "2031-05-0a", ""})
    CHECK(problem("from=" + day).at("place") == "from");
  CHECK(problem("job=" + std::string(101, 'a')).at("place") == "job");
}
