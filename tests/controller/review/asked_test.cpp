#include <catch2/catch.hpp>

#include "review/asked.hpp"
#include "review/time.hpp"

// Goal: one box takes whatever a person with a complaint has in hand, and says back what it understood.
// The serials' check characters are those of ISO/IEC 7064 MOD 1271-36, tested in record; days are ISO 8601.
using namespace shankwright;
using review::read_asked;

namespace {

const review::KnownNames shop{{"straight-shank-1-8-7x19"},          // recipes
                              {"ada", "cleo"},                      // people
                              {"RL-1004", "BOTH-1"},                // rope lots
                              {"TL-1004", "BOTH-1"},                // terminal lots
                              {"hex-3-16", "hex-6mm"},              // die pairs
                              {"caliper-1", "caliper-2"},           // gauges
                              {"rope_not_home", "slip_too_much"}};  // findings

review::Asked asked(const std::string& text) {
  INFO(text);
  auto read = read_asked(text, shop);
  REQUIRE(read);
  return std::move(read).value();
}

std::string words(const std::string& text) {
  return asked(text).in_words;
}

std::string day(std::int64_t utc_us) {
  return review::utc_text(utc_us, 0);
}

}  // namespace

TEST_CASE("nothing asked is every fitting") {
  for (const char* text : {"", "   ", "\t", "\"\""}) CHECK(words(text) == "every fitting");
}

TEST_CASE("a whole serial is taken however it is typed") {
  for (const char* text :
       {"SW-000002-QG", "sw-000002-qg", "sw000002qg", "serial SW-000002-QG", "000002-QG"}) {
    const auto read = asked(text);
    CHECK(read.filter.serial_prefix == "SW-000002-QG");
    CHECK(read.parts.at(0).as == "serial");
    CHECK_FALSE(read.serial_mistyped);
  }
}

TEST_CASE("a serial begun is a beginning, a mistyped one is called mistyped and kept for its neighbours") {
  const auto begun = asked("SW-0001");
  CHECK(begun.in_words == "serials beginning with SW-0001");
  CHECK_FALSE(begun.serial_mistyped);
  const auto mistyped = asked("SW-000003-QG");
  CHECK(mistyped.serial_mistyped);
  CHECK(mistyped.serial_typed == "SW-000003-QG");
  // The first letter wrong: a word like any other, but its neighbours are worth a look.
  const auto other = asked("SV-000002-QG");
  CHECK(other.filter.text == "SV-000002-QG");
  CHECK(other.serial_typed == "SV-000002-QG");
  CHECK(asked("cracked").serial_typed.empty());
}

TEST_CASE("a job called by several words is looked for by its words, and by its name after job:") {
  CHECK(asked("Demo job 12").filter.text == "Demo job 12");
  CHECK(asked("Demo job 12").filter.job.empty());
  CHECK(asked("job 12").filter.job == "12");
  CHECK(asked("held job 12").filter.job == "12");
  CHECK(asked("worn job:12").filter.job == "12");
  CHECK(asked("job:\"Demo job 12\"").filter.job == "Demo job 12");
  CHECK(asked("\"Demo\" job 12").filter.job == "12");
}

TEST_CASE("a day, a month, a week or a range of them, as ISO 8601 writes them") {
  const auto range = [](const std::string& text) {
    const auto filter = asked(text).filter;
    return std::pair(filter.from_utc_us ? day(*filter.from_utc_us) : "",
                     filter.until_utc_us ? day(*filter.until_utc_us) : "");
  };
  using Range = std::pair<std::string, std::string>;
  CHECK(range("2031-05-04") == Range("2031-05-04T00:00:00Z", "2031-05-05T00:00:00Z"));
  CHECK(range("2031-05") == Range("2031-05-01T00:00:00Z", "2031-06-01T00:00:00Z"));
  CHECK(range("2031") == Range("2031-01-01T00:00:00Z", "2032-01-01T00:00:00Z"));
  CHECK(range("2031/2032") == Range("2031-01-01T00:00:00Z", "2033-01-01T00:00:00Z"));
  CHECK(range("2031-12") == Range("2031-12-01T00:00:00Z", "2032-01-01T00:00:00Z"));
  // ISO 8601: week 1 holds the year's first Thursday. 2026 begins on one; 2027 on a Friday, so its week 1
  // begins on 4 January, and 2026 has a week 53.
  CHECK(range("2026-W01") == Range("2025-12-29T00:00:00Z", "2026-01-05T00:00:00Z"));
  CHECK(range("2026-W53") == Range("2026-12-28T00:00:00Z", "2027-01-04T00:00:00Z"));
  CHECK(range("2027-W01") == Range("2027-01-04T00:00:00Z", "2027-01-11T00:00:00Z"));
  CHECK(range("2031-05-01/2031-05-31") == Range("2031-05-01T00:00:00Z", "2031-06-01T00:00:00Z"));
  CHECK(range("2031-05-01..2031-05-31") == Range("2031-05-01T00:00:00Z", "2031-06-01T00:00:00Z"));
  CHECK(range("2031-05/2031-07") == Range("2031-05-01T00:00:00Z", "2031-08-01T00:00:00Z"));
  CHECK(range("2031-05-01/..") == Range("2031-05-01T00:00:00Z", ""));
  CHECK(range("/2031-05-31") == Range("", "2031-06-01T00:00:00Z"));
  CHECK(range("from 2031-05-01 until 2031-05-31") == Range("2031-05-01T00:00:00Z", "2031-06-01T00:00:00Z"));
  CHECK(words("from 2031-05-01 until 2031-05-31") == "begun from 2031-05-01 to 2031-05-31");
  CHECK(words("2031-05-04") == "begun on 2031-05-04");
  CHECK(words("since 2031-05-04") == "begun on 2031-05-04 or later");
}

TEST_CASE("days that there are not, or that run backwards, are refused and not looked for as words") {
  for (const char* text :
       {"2031-02-30", "2031-13", "2031-W54", "2027-W53", "2031-05-04/2031-05-01", "1969-05-04", "from soon",
        "2031-05-01 2031-05-02", "until 2031-05-01 from 2031-05-02"}) {
    INFO(text);
    const auto read = read_asked(text, shop);
    REQUIRE_FALSE(read);
    CHECK(read.problem().place == "ask");
  }
}

TEST_CASE("what the shop has a name for is told apart without saying what it is") {
  CHECK(words("hex-6mm") == "die pair hex-6mm");
  CHECK(words("HEX-6MM") == "die pair hex-6mm");
  CHECK(words("caliper-1 held") == "measured with caliper-1, verdict held");
  CHECK(words("rl-1004") == "rope lot RL-1004");
  CHECK(words("lot TL-1004") == "terminal lot TL-1004");
  CHECK(words("ada 2031-05-04") == "begun by ada, begun on 2031-05-04");
  CHECK(words("rope_not_home") == "finding rope_not_home");
  CHECK(words("straight-shank-1-8-7x19 scrapped") == "recipe straight-shank-1-8-7x19, verdict scrapped");
  CHECK(asked("re-pressed").filter.verdict == "re-pressed");
}

TEST_CASE("a name of two things, or of none, is a word") {
  CHECK(asked("BOTH-1").filter.text == "BOTH-1");
  CHECK(asked("lot BOTH-1").filter.text == "BOTH-1");
  CHECK(asked("lot RL-0001").filter.text == "RL-0001");
  CHECK(words("cracked near mouth") == "the words \"cracked near mouth\"");
  CHECK(asked("\"held\"").filter.text == "held");
  CHECK(asked("\"hex-6mm\"").filter.die_pair_id.empty());
}

TEST_CASE("who says what it is gets it, also where no register knows it any more") {
  CHECK(asked("job J-2207").filter.job == "J-2207");
  CHECK(asked("job:J-2207").filter.job == "J-2207");
  CHECK(asked("job: \"J 22 07\"").filter.job == "J 22 07");
  CHECK(asked("rope lot OLD-7").filter.rope_lot == "OLD-7");
  CHECK(asked("terminal lot=tl-1004").filter.text == "terminal");  // "terminal" alone says nothing
  CHECK(asked("terminal_lot=tl-1004").filter.terminal_lot == "TL-1004");
  CHECK(asked("die pair HEX-6mm").filter.die_pair_id == "hex-6mm");
  CHECK(asked("operator zoe gauge caliper-9").filter.gauge_id == "caliper-9");
  CHECK(asked("finding rope_not_home").filter.finding_code == "rope_not_home");
  CHECK(asked("job 2031").filter.job == "2031");
  CHECK(asked("4711").filter.text == "4711");
  CHECK(asked("\"2031\"").filter.text == "2031");
  CHECK(asked("job").filter.text == "job");  // nothing after it: a word
}

TEST_CASE("two of one kind cannot hold together and are refused, twice the same is once") {
  for (const char* text : {"hex-6mm hex-3-16", "caliper-1 gauge caliper-2", "SW-0001 SW-0002", "held open"}) {
    INFO(text);
    const auto read = read_asked(text, shop);
    REQUIRE_FALSE(read);
    CHECK(read.problem().expected.find("one") != std::string::npos);
  }
  CHECK(words("hex-6mm die hex-6mm") == "die pair hex-6mm");
  CHECK_FALSE(read_asked("verdict fine", shop));
  CHECK_FALSE(read_asked(std::string(201, 'a'), shop));
}
