#include "typeset/harmless.hpp"

#include <catch2/catch.hpp>

using shankwright::typeset::harmless;

TEST_CASE("plain text of any language stays as it is") {
  for (const auto* text :
       {"", "job 41", "\u00C4rger", "e\u0301t\u00E9", "\u05D0\u05D1", "\u65E5\u672C", "\u2300 9.12 mm"})
    CHECK(harmless(text) == text);
}

TEST_CASE("what moves, hides or turns other text becomes visible, line ends become blanks") {
  CHECK(harmless("a\nb\tc\r\nd") == "a b c  d");
  CHECK(harmless("a\x1b[2Jb\x7f") == "a?[2Jb?");
  CHECK(harmless(std::string("a\0b", 3)) == "a?b");
  CHECK(harmless("\u202Eabc\u202C \u2066x\u2069 \u200B \uFEFF \u00AD") == "?abc? ?x? ? ? ?");
  CHECK(harmless("e\u0301\u0302\u0303\u0304x\u0301") == "e\u0301\u0302??x\u0301");
}

// Unicode 15, table 3-7: overlong forms, surrogates and lone bytes are no characters.
TEST_CASE("bytes that are not UTF-8 become question marks, one each") {
  CHECK(harmless("a\xff\xfe"
                 "b") == "a??b");
  CHECK(harmless("\xc0\xaf") == "??");
  CHECK(harmless("\xed\xa0\x80") == "???");
  CHECK(harmless("ok\xc3") == "ok?");
}

TEST_CASE("a text that never ends is cut and says by how much") {
  CHECK(harmless("abcdef", 4) == "abcd... (2 more characters are in the record)");
  CHECK(harmless("\u00C4\u00D6\u00DC", 3) == "\u00C4\u00D6\u00DC");
}
