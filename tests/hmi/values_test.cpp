#include <catch2/catch.hpp>
#include <limits>
#include <nlohmann/json.hpp>

#include "fake_station.hpp"
#include "hmi/server/json_out.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"
#include "hmi/server/page.hpp"
#include "hmi/server/sessions.hpp"

using namespace shankwright;
using namespace shankwright::hmi_test;

TEST_CASE("numbers JSON has no word for become null") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  for (const double value : {infinity, -infinity, std::numeric_limits<double>::quiet_NaN()}) {
    CHECK(hmi::number(value).is_null());
    CHECK(hmi::gap_number(value).is_null());
    CHECK(hmi::force_number(value, 20000).is_null());
    CHECK(hmi::to_json(recipe::Band{value, value}).dump() == R"({"least":null,"most":null})");
  }
  CHECK(hmi::gap_number(65.535).is_null());  // press-map.md: 65535 is beyond range
  CHECK(hmi::gap_number(65.534) == 65.534);
  CHECK(hmi::force_number(100, std::nullopt).is_null());
  // 1 bar = 1e5 Pa exactly (NIST SP 811, B.9): 350 bar on 42029 mm2 is 1471.015 kN
  CHECK(hmi::force_number(350, 42029) == 1471.015);
}

TEST_CASE("a press never heard of says so and is not fresh") {
  const auto press = hmi::press_json(ports::Snapshot{}, std::nullopt, 123'000'000);
  CHECK(press.at("link") == "never_connected");
  CHECK(press.at("fresh") == false);
  CHECK(press.at("age_ms") == 0);
  CHECK(press.at("force_kn").is_null());
}

TEST_CASE("press numbers beyond the map are named unknown") {
  auto snapshot = demo_snapshot();
  snapshot.press.phase = 7;
  snapshot.press.permit_state = 6;
  const auto press = hmi::press_json(snapshot, 20000, 5'000'000);
  CHECK(press.at("phase") == "unknown");
  CHECK(press.at("permit_state") == "unknown");
}

TEST_CASE("text that is not UTF-8 is sent as replacement characters, never thrown at") {
  const auto text = hmi::problem_body({"path", "\xff\xfe\x80", "text"});
  CHECK(nlohmann::json::accept(text));
}

TEST_CASE("an unknown name is answered with all known ones and the nearest") {
  const std::vector<std::string_view> known = {"caliper", "micrometer", "depth_rod"};
  CHECK(hmi::expected_one_of("calliper", known) ==
        "one of caliper, micrometer, depth_rod; the nearest is \"caliper\"");
  CHECK(hmi::expected_one_of("hammer", known) == "one of caliper, micrometer, depth_rod");
  CHECK(hmi::expected_one_of(std::string(10'000, 'a'), known) == "one of caliper, micrometer, depth_rod");
  CHECK(hmi::expected_one_of("anything", {}) == "nothing here");
}

TEST_CASE("sessions are bounded, and the longest unused makes room") {
  hmi::Sessions sessions;
  const auto first = sessions.open({"a", 0, ""}, 1), second = sessions.open({"b", 0, ""}, 2);
  CHECK(first != second);
  CHECK(sessions.find(first, 3)->person_id == "a");  // used after second
  for (std::size_t i = 0; i < hmi::Sessions::held_most - 1; ++i)
    CHECK(sessions.open({"c", 0, ""}, 10).size() == 64);
  CHECK_FALSE(sessions.find(second, 11));
  CHECK(sessions.find(first, 11)->person_id == "a");
  sessions.close(first);
  CHECK_FALSE(sessions.find(first, 11));
  CHECK_FALSE(sessions.find("", 11));
}

TEST_CASE(
    "a session ends unused, and in the end however busy; a PIN given again is fresh once, for a while") {
  hmi::Sessions sessions({100, 250});
  const auto token = sessions.open({"a", 7, "digest"}, 1000);
  CHECK(sessions.find(token, 1100) == hmi::Sessions::Bearer{"a", 7, "digest"});
  CHECK(sessions.find(token, 1200));
  CHECK(sessions.find(token, 1250));
  CHECK_FALSE(sessions.find(token, 1251));  // used a moment ago, but opened too long ago
  const auto idle = sessions.open({"a", 7, ""}, 1000);
  CHECK_FALSE(sessions.find(idle, 1101));
  CHECK_FALSE(sessions.find(idle, 1000));  // ended is ended

  const auto signing = sessions.open({"a", 7, ""}, 0);
  CHECK_FALSE(sessions.take_confirmation(signing, 0));
  sessions.confirm(signing, 0);
  CHECK(sessions.take_confirmation(signing, hmi::Sessions::confirmed_us_most));
  CHECK_FALSE(sessions.take_confirmation(signing, 1));
  sessions.confirm(signing, 0);
  CHECK_FALSE(sessions.take_confirmation(signing, hmi::Sessions::confirmed_us_most + 1));
}

TEST_CASE("a file of the page is found with and without its leading slash, and only by its whole path") {
  // printf hello | gzip -n | xxd
  constexpr unsigned char packed[] = {0x1f, 0x8b, 0x08, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,
                                      0x03, 0xcb, 0x48, 0xcd, 0xc9, 0xc9, 0x07, 0x00, 0x86,
                                      0xa6, 0x10, 0x36, 0x05, 0x00, 0x00, 0x00};
  const std::string_view bytes(reinterpret_cast<const char*>(packed), sizeof packed);
  const std::vector<hmi::Asset> assets = {{"/index.html", "text/html", bytes},
                                          {"/assets/a.js", "text/javascript", bytes}};
  for (const char* path : {"", "/", "index.html", "/index.html"}) {
    CHECK(hmi::asset_reply(assets, path, false).body == "hello");
    CHECK(hmi::asset_reply(assets, path, true).body == bytes);
  }
  CHECK(hmi::asset_reply(assets, "assets/a.js", false).content_type == "text/javascript");
  for (const char* path : {"a.js", "assets/", "assets/a.js/", "//index.html", "index.htm"})
    CHECK(hmi::asset_reply(assets, path, false).status == 404);
  CHECK_THROWS(hmi::unpack_gzip(bytes.substr(0, 12)));
  CHECK_THROWS(hmi::unpack_gzip("hello"));
}
