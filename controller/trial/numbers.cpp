#include "trial/numbers.hpp"

namespace shankwright::trial {
namespace {

/// 52 bits in the middle of their interval, so that neither 0 nor 1 can come out.
double in_unit(std::uint32_t high, std::uint32_t low) {
  const std::uint64_t bits = ((std::uint64_t{high} << 32) | low) >> 12;
  return (static_cast<double>(bits) + 0.5) * 0x1p-52;
}

}  // namespace

Words philox(Words counter, std::array<std::uint32_t, 2> key) {
  constexpr std::uint64_t multiply0 = 0xD2511F53, multiply1 = 0xCD9E8D57;
  constexpr std::uint32_t weyl0 = 0x9E3779B9, weyl1 = 0xBB67AE85;
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t product0 = multiply0 * counter[0];
    const std::uint64_t product1 = multiply1 * counter[2];
    counter = {static_cast<std::uint32_t>(product1 >> 32) ^ counter[1] ^ key[0],
               static_cast<std::uint32_t>(product1),
               static_cast<std::uint32_t>(product0 >> 32) ^ counter[3] ^ key[1],
               static_cast<std::uint32_t>(product0)};
    key[0] += weyl0;
    key[1] += weyl1;
  }
  return counter;
}

std::array<double, 2> unit_pair(std::uint64_t seed, std::uint64_t fitting, std::uint32_t pair) {
  const Words words =
      philox({static_cast<std::uint32_t>(fitting), static_cast<std::uint32_t>(fitting >> 32), pair, 0},
             {static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)});
  return {in_unit(words[0], words[1]), in_unit(words[2], words[3])};
}

double unit_number(std::uint64_t seed, std::uint64_t fitting, std::uint32_t which) {
  return unit_pair(seed, fitting, which / 2)[which % 2];
}

}  // namespace shankwright::trial
