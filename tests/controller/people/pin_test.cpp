#include <catch2/catch.hpp>
#include <random>

#include "people/pin.hpp"
#include "people/roles.hpp"

using namespace shankwright::people;

TEST_CASE("a PIN is four to twelve digits, and none that is tried first") {
  for (const char* good :
       {"4711", "2580", "1235", "0912", "13579", "123455", "112233445566", "112", "998877"}) {
    INFO(good);
    CHECK(check_pin(good, "ada").has_value() == (std::string_view(good).size() < 4));
  }
  for (const char* bad :
       {"", "1", "123", "1234567890123", "47 11", "47a1", "-471", "0000", "1111", "999999999999", "1234",
        "0123", "4321", "7890", "9012", "12345678", "1212", "123123", "47114711"}) {
    INFO(bad);
    CHECK(check_pin(bad, "ada"));
  }
  CHECK(check_pin("4711", "op-4711"));
  CHECK(check_pin("4711", "4-7-11"));
  CHECK_FALSE(check_pin("4711", "op-471"));
}

TEST_CASE("no answer repeats the PIN that was given") {
  for (const char* bad : {"83a1", "8181", "8765", "12345678901238"})
    CHECK(check_pin(bad, "ada")->text().find(bad) == std::string::npos);
}

TEST_CASE("a one-time code is read as people type it") {
  CHECK(plain_code("K7QD-2M9P-X4TR") == "K7QD2M9PX4TR");
  CHECK(plain_code(" k7qd 2m9p x4tr") == "K7QD2M9PX4TR");
  CHECK(plain_code("OIL0") == "0110");
  CHECK(grouped_code("K7QD2M9PX4TR") == "K7QD-2M9P-X4TR");
  // Every letter a code can have survives being read.
  CHECK(plain_code(code_letters) == code_letters);
  CHECK(code_letters.size() == 32);
}

TEST_CASE("days are read as they are written, and no others") {
  std::mt19937_64 random(20310502);
  for (int i = 0; i < 20'000; ++i) {
    const auto day = static_cast<std::int64_t>(random() % 2'932'896);  // to 9999-12-31
    REQUIRE(day_of(day_text(day)) == day);
  }
  CHECK(day_text(22401) == "2031-05-02");  // date -u -d @$((22401 * 86400)) +%F
  for (const char* no : {"", "2031-02-29", "2031-13-01", "2031-00-01", "2031-1-1", "31-05-02", "2031-05-02Z",
                         "20x1-05-02", "1969-12-31"})
    CHECK_FALSE(day_of(no));
}
