#include <catch2/catch.hpp>

#include <set>

#include "record/serial.hpp"

using namespace shankwright::record;

namespace {
const std::string alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";

std::string with_check(const std::string& text) {
  const auto check = check_characters(text).value();
  return text + check[0] + check[1];
}
}  // namespace

TEST_CASE("check characters are those of the standard's own example") {
  // ISO/IEC 7064:2003, 8.2, MOD 1271-36: "ISO79" has the check value 140 and becomes "ISO793W".
  CHECK(with_check("ISO79") == "ISO793W");
  CHECK(check_characters_fit("ISO793W"));
  CHECK_FALSE(check_characters_fit("ISO793X"));
}

TEST_CASE("a protected text leaves the remainder 1 when weighed by powers of 36") {
  // ISO/IEC 7064:2003, clause 6: sum of character value times 36^(position from the right) is 1 modulo 1271.
  // Computed here from the definition, where the code uses the recursive method.
  for (const std::string text : {"A", "0", "ZZZZZZZZ", "SW000001", "SW999999", "SW123456789012345678"}) {
    const auto whole = with_check(text);
    long long sum = 0, weight = 1;
    for (auto character = whole.rbegin(); character != whole.rend(); ++character, weight = weight * 36 % 1271)
      sum += static_cast<long long>(alphabet.find(*character)) * weight;
    CHECK(sum % 1271 == 1);
  }
}

TEST_CASE("every single wrong character and every exchange of two neighbours or next-but-ones is noticed") {
  long long tried = 0, missed = 0;
  for (std::int64_t number = 1; number < 1'000'000; number = number * 3 + 7) {
    const auto whole = bare(serial_of(number));
    REQUIRE(check_characters_fit(whole));
    for (std::size_t place = 0; place < whole.size(); ++place) {
      for (const char other : alphabet) {
        auto typed = whole;
        typed[place] = other;
        if (typed == whole) continue;
        ++tried;
        missed += check_characters_fit(typed);
      }
      for (const std::size_t distance : {1U, 2U}) {
        if (place + distance >= whole.size()) continue;
        auto typed = whole;
        std::swap(typed[place], typed[place + distance]);
        if (typed == whole) continue;
        ++tried;
        missed += check_characters_fit(typed);
      }
    }
  }
  CHECK(tried > 4000);
  CHECK(missed == 0);
}

TEST_CASE("a serial gives its number back however it is typed") {
  for (const std::int64_t number : {1LL, 9LL, 123LL, 999'999LL, 1'000'000LL, 123'456'789'012LL}) {
    const auto serial = serial_of(number);
    CHECK(number_of(serial) == number);
    CHECK(number_of(bare(serial)) == number);
    auto small = serial;
    for (auto& character : small) character = static_cast<char>(std::tolower(character));
    CHECK(number_of(" " + small + " ") == number);
  }
  CHECK(serial_of(123).substr(0, 10) == "SW-000123-");
}

TEST_CASE("what is not a serial gives no number") {
  const auto serial = serial_of(123);
  for (const std::string& text :
       {std::string(), std::string("SW"), std::string("SW-000123"), serial + "0", serial.substr(1),
        with_check("SW0000123"), with_check("SX000123"), with_check("SW00012"), with_check("SW000000"),
        with_check("SW00012A"), with_check("SW1234567890123456789"), serial + "\n",
        std::string("SW-000123-\xC3\xA9")})
    CHECK_FALSE(number_of(text));
  CHECK_FALSE(check_characters("SW*1"));
  CHECK_FALSE(check_characters(""));
}
