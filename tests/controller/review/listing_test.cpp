#include "review/listing.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <nlohmann/json.hpp>

#include "review/bite.hpp"
#include "review/layout.hpp"
#include "review/nearest_serials.hpp"
#include "review/time.hpp"

using namespace shankwright;
using namespace shankwright::review;

TEST_CASE("instants are written in ISO 8601 and UTC") {
  // date -u -d @N +%FT%TZ (GNU coreutils 9.1) for each second.
  CHECK(utc_text(0) == "1970-01-01T00:00:00.000000Z");
  CHECK(utc_text(951'782'400'000'000) == "2000-02-29T00:00:00.000000Z");
  CHECK(utc_text(1'932'732'000'999'999, 3) == "2031-03-31T14:00:00.999Z");
  CHECK(utc_text(1'932'732'000'999'999, 0) == "2031-03-31T14:00:00Z");
  CHECK(utc_text(-1) == "1969-12-31T23:59:59.999999Z");
}

TEST_CASE("every day of four centuries reads back as the day it was written for") {
  for (std::int64_t day = 0; day < 146'097; ++day) {
    const auto text = utc_text(day * us_per_day, 0).substr(0, 10);
    const auto start = day_start_utc_us(text);
    REQUIRE(start.ok());
    REQUIRE(start.value() == day * us_per_day);
  }
}

TEST_CASE("what is no day of the calendar is a problem") {
  for (const auto* text :
       {"", "2031-02-29", "2100-02-29", "2031-13-01", "2031-00-10", "2031-01-00", "2031-1-1", "2031-01-01 ",
        "2031/01/01", "-031-01-01", "1969-12-31", "today", "2031-01-0x"})
    CHECK_FALSE(day_start_utc_us(text).ok());
}

TEST_CASE("numbers carry at most three decimals and no idle noughts") {
  CHECK(number_text(7.95) == "7.95");
  CHECK(number_text(498.123456) == "498.123");
  CHECK(number_text(500) == "500");
  CHECK(number_text(0) == "0");
  CHECK(number_text(-0.0001) == "0");
  CHECK(number_text(-2.4) == "-2.4");
  CHECK(number_text(std::nan("")) == "nan");
}

TEST_CASE("columns are as wide as their widest cell, counted in characters") {
  CHECK(columns({{"a", "bb", "c"}, {"\xC3\xA9t\xC3\xA9", "b", ""}}, "> ") ==
        "> a    bb  c\n> \xC3\xA9t\xC3\xA9  b\n");
  CHECK(columns({{"a\nb", "c"}}, "") == "a?b  c\n");
}

TEST_CASE("long text is broken at blanks and never loses a word") {
  CHECK(wrapped("one two three", "  ", 9) == "  one two\n  three\n");
  CHECK(wrapped("immeasurably", "", 4) == "immeasurably\n");
  CHECK(wrapped("  ", "", 4).empty());
}

TEST_CASE("bars grow with the value and the greatest is full") {
  CHECK(bars({0, 1, 4, 8}) == " ▁▄█");
  CHECK(bars({}).empty());
  CHECK(bars({0, 0}).empty());
  CHECK(bars({-1, 2}) == " █");
}

TEST_CASE("pressure while closing ends at the least gap and keeps the peaks of its parts") {
  std::vector<ports::Sample> trace;
  for (std::uint32_t index = 0; index <= 105; ++index)
    trace.push_back({index, index * 1.0, 2.0 - index / 64.0});
  for (std::uint32_t index = 1; index <= 50; ++index) trace.push_back({105 + index, 500, 0.5 + index / 64.0});
  trace[105].pressure_bar = 90;
  // Pressure first shows at a twentieth of the peak of 500, at 25 bar; from there to the least gap are 80
  // steps, 20 to each part; after the least gap nothing counts.
  CHECK(pressure_while_closing(trace, 4) == std::vector<double>{44, 64, 84, 104});
  CHECK(pressure_while_closing({}, 5).empty());
  CHECK(pressure_while_closing({{0, 0, 1}, {2, 0, 0.5}}, 5).empty());
  CHECK(pressure_while_closing({{0, 100, 1}}, 5).empty());
  CHECK(pressure_while_closing(trace, 0).empty());
}

TEST_CASE("a mistyped serial finds the ones it may have been, nearest first") {
  const std::vector<std::string> known{"SW-000001-R5", "SW-000012-4F", "SW-000021-PQ", "SW-000123-T0",
                                       "SW-009999-AA"};
  CHECK(nearest_serials("sw-000123-t9", known, 5) == std::vector<std::string>{"SW-000123-T0"});
  CHECK(nearest_serials("SW000132T0", known, 5) == std::vector<std::string>{"SW-000123-T0"});
  CHECK(nearest_serials("SW-000123", known, 5) == std::vector<std::string>{"SW-000123-T0"});
  CHECK(nearest_serials("SW-0000", known, 2) == std::vector<std::string>{"SW-000001-R5", "SW-000012-4F"});
  CHECK(nearest_serials("nothing", known, 5).empty());
  CHECK(nearest_serials("", known, 5).empty());
}

namespace {
ports::FittingRow row(const std::string& serial, const std::string& verdict) {
  ports::FittingRow out;
  out.serial = serial;
  out.recipe_id = "hexagon-4.8";
  out.recipe_revision = 3;
  out.job = "job-41";
  out.operator_id = "demo-operator";
  out.rope_lot = "rope-lot-7";
  out.terminal_lot = "terminal-lot-2";
  out.die_pair_id = "die-7.95";
  out.stage = "gauge";
  out.verdict = verdict;
  out.started_utc_us = 1'932'732'000'000'000;
  out.changed_utc_us = 1'932'732'000'500'000;
  return out;
}
}  // namespace

TEST_CASE("the list in JSON names what the station's interface names, and where to go on") {
  const auto page = nlohmann::json::parse(listing_json({{row("SW-000001-R5", "open")}, "SW-000001-R5"}));
  CHECK(page ==
        nlohmann::json::parse(R"({"fittings":[{"serial":"SW-000001-R5","recipe":"hexagon-4.8","revision":3,
    "job":"job-41","operator":"demo-operator","rope_lot":"rope-lot-7","terminal_lot":"terminal-lot-2",
    "die_pair":"die-7.95","stage":"gauge","verdict":"open","started_utc":"2031-03-31T14:00:00.000000Z",
    "changed_utc":"2031-03-31T14:00:00.500000Z"}],"next_after":"SW-000001-R5"})"));
  CHECK(nlohmann::json::parse(listing_json({})) ==
        nlohmann::json::parse(R"({"fittings":[],"next_after":null})"));
}

TEST_CASE("the list for a terminal is a table") {
  CHECK(listing_text({{row("SW-000001-R5", "open"), row("SW-000002-QB", "re-pressed")}, ""}) ==
        "serial        verdict     stage  started (UTC)         recipe          job     operator       rope "
        "lot    "
        "terminal lot    die pair\n"
        "SW-000001-R5  open        gauge  2031-03-31T14:00:00Z  hexagon-4.8 r3  job-41  demo-operator  "
        "rope-lot-7  "
        "terminal-lot-2  die-7.95\n"
        "SW-000002-QB  re-pressed  gauge  2031-03-31T14:00:00Z  hexagon-4.8 r3  job-41  demo-operator  "
        "rope-lot-7  "
        "terminal-lot-2  die-7.95\n");
}
