#include <catch2/catch.hpp>

#include "hmi/server/guards.hpp"
#include "hmi/server/socket_stream.hpp"

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

TEST_CASE("what changes something comes from a page of this station, from a program, or by hand") {
  CHECK_FALSE(check_fetch_site("POST", ""));  // a program
  CHECK_FALSE(check_fetch_site("POST", "same-origin"));
  CHECK_FALSE(check_fetch_site("DELETE", "none"));
  CHECK(check_fetch_site("POST", "cross-site")->place == "Sec-Fetch-Site");
  CHECK(check_fetch_site("POST", "Cross-Site"));
  CHECK(check_fetch_site("DELETE", "same-site"));  // another port of this machine
  CHECK(check_fetch_site("POST", "of-a-kind-to-come"));
  CHECK_FALSE(check_fetch_site("GET", "cross-site"));  // a link to this station
  CHECK_FALSE(check_fetch_site("HEAD", "cross-site"));
}

TEST_CASE("a page loaded by https says so in its Origin") {
  CHECK(is_https("https://press-1.example"));
  CHECK(is_https("HTTPS://press-1.example"));
  CHECK_FALSE(is_https("http://press-1.example"));
  CHECK_FALSE(is_https("https:/"));
  CHECK_FALSE(is_https(""));
}

TEST_CASE("a peer may be slow for a while, and as long as it takes what is sent") {
  CHECK(fast_enough(0, 0));
  CHECK(fast_enough(10'000, 0));
  CHECK_FALSE(fast_enough(10'001, 0));
  CHECK_FALSE(fast_enough(60'000, 600));        // a byte now and then
  CHECK(fast_enough(60'000, 1'000'000));        // the last fifty seconds at 20 kB a second
  CHECK_FALSE(fast_enough(60'001, 1'000'000));  // and a shade slower
}
