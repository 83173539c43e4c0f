#include "trial/numbers.hpp"

#include <catch2/catch.hpp>
#include <vector>

using namespace shankwright::trial;

TEST_CASE("Philox gives the words its authors published") {
  // Random123, tests/kat_vectors, lines "philox4x32 10": counter, key, expected.
  CHECK(philox({0, 0, 0, 0}, {0, 0}) == Words{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
  constexpr std::uint32_t ones = 0xffffffff;
  CHECK(philox({ones, ones, ones, ones}, {ones, ones}) ==
        Words{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
  CHECK(philox({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
        Words{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("Every number of every fitting lies strictly inside 0 and 1 and is spread evenly") {
  std::vector<int> tenths(10, 0);
  constexpr int fittings = 5000;
  for (std::uint64_t i = 0; i < fittings; ++i) {
    for (std::uint32_t which = 0; which < 4; ++which) {
      const double unit = unit_number(7, i, which);
      REQUIRE(unit > 0);
      REQUIRE(unit < 1);
      tenths[static_cast<std::size_t>(unit * 10)] += 1;
    }
  }
  // Chi-square with 9 degrees of freedom: 27.88 is passed once in a thousand (tables of the chi-square
  // distribution, 0.001, value from memory).
  double chi_square = 0;
  for (const int count : tenths) {
    const double expected = 4.0 * fittings / 10;
    chi_square += (count - expected) * (count - expected) / expected;
  }
  CHECK(chi_square < 27.88);
}

TEST_CASE("Another seed, another fitting or another place gives another number") {
  const double one = unit_number(1, 0, 0);
  CHECK(one == unit_number(1, 0, 0));
  CHECK(one != unit_number(2, 0, 0));
  CHECK(one != unit_number(1ULL << 40, 0, 0));
  CHECK(one != unit_number(1, 1, 0));
  CHECK(one != unit_number(1, 1ULL << 40, 0));
  CHECK(one != unit_number(1, 0, 1));
}
