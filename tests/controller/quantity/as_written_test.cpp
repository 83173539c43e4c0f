#include "quantity/as_written.hpp"

#include <catch2/catch.hpp>

using namespace shankwright::quantity;

TEST_CASE("Ill-formed UTF-8 is found at its first byte") {
  // Unicode 15, table 3-7: well-formed byte sequences.
  CHECK_FALSE(first_invalid_utf8("plain").has_value());
  CHECK_FALSE(first_invalid_utf8("\xC2\xB5m \xE2\x80\xB3 \xF0\x9F\x94\xA7").has_value());
  CHECK(first_invalid_utf8("ab\xFFz") == 2u);
  CHECK(first_invalid_utf8("a\xC0\x80") == 1u);          // overlong NUL
  CHECK(first_invalid_utf8("a\xED\xA0\x80") == 1u);      // surrogate
  CHECK(first_invalid_utf8("a\xF4\x90\x80\x80") == 1u);  // above U+10FFFF
  CHECK(first_invalid_utf8("a\xE2\x80") == 1u);          // cut short
  CHECK(first_invalid_utf8("\x80") == 0u);
}

TEST_CASE("Text from outside is shown without control characters and without end") {
  CHECK(as_written("") == "nothing");
  CHECK(as_written("7.95 mm") == "7.95 mm");
  CHECK(as_written("a\x1B[31mb\n") == "a?[31mb?");
  CHECK(as_written("a\xC2\x9Bz") == "a?z");
  CHECK(as_written("\xFF\xFE") == "??");
  CHECK(as_written(std::string(500, 'x')) == std::string(80, 'x') + "...");
  CHECK_FALSE(first_invalid_utf8(as_written("\xC3\xFF\xED\xA0\x80 \xC2\xB5")).has_value());
}
