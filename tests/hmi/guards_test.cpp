#include <catch2/catch.hpp>

#include "hmi/server/guards.hpp"

using namespace shankwright::hmi;

TEST_CASE("a Host is this station's by name, by loopback address, or by the names it was given") {
  const std::vector<std::string> names = {"press-3.demo.internal"};
  for (const char* host : {"localhost", "LocalHost:8080", "127.0.0.1:1", "[::1]:8080", "192.0.2.5:80",
                           "192.0.2.5", "PRESS-3.demo.internal:8080"})
    CHECK_FALSE(check_host(host, "192.0.2.5", names));
  for (const char* host :
       {"", ":", ":80", "localhost:", "localhost:8a", "press-3.demo.internal.", "press-3", "::1", "[::1",
        "[]", "localhost/", "127.0.0.2", "localhost@evil.example", "localhost, evil.example"}) {
    INFO(host);
    // "localhost:" has an empty port, which RFC 3986, 3.2.3 allows.
    CHECK(check_host(host, "192.0.2.5", names).has_value() == (std::string(host) != "localhost:"));
  }
  CHECK_FALSE(check_host("[2001:db8::1]:8080", "2001:db8::1", {}));
}

TEST_CASE("an Origin is this station's when it is the request's own Host") {
  CHECK_FALSE(check_origin("", "localhost:8080"));
  CHECK_FALSE(check_origin("http://localhost:8080", "LOCALHOST:8080"));
  CHECK_FALSE(check_origin("https://press.demo", "press.demo"));
  for (const char* origin : {"null", "http://localhost", "http://localhost:80801", "http://xlocalhost:8080",
                             "ftp://localhost:8080", "localhost:8080", "http://localhost:8080/"})
    CHECK(check_origin(origin, "localhost:8080"));
}

TEST_CASE("only JSON in UTF-8 counts as a body") {
  for (const char* type :
       {"application/json", "application/json;charset=utf-8", "Application/Json ; Charset=\"UTF-8\""})
    CHECK_FALSE(check_content_type(type));
  for (const char* type : {"", "json", "text/json", "application/json2", "application/json, text/plain",
                           "application/json; charset=utf-16", ";application/json"})
    CHECK(check_content_type(type));
}

TEST_CASE("gzip is sent to whoever says so") {
  // RFC 9110, 12.5.3
  for (const char* header : {"gzip", "br, GZIP", "gzip;q=0.5", "*", "deflate, *;q=0.1", "gzip; q=1.0"})
    CHECK(accepts_gzip(header));
  for (const char* header : {"", "br", "gzip;q=0", "gzip; q=0.000", "*;q=0", "*, gzip;q=0", "xgzip"})
    CHECK_FALSE(accepts_gzip(header));
}
