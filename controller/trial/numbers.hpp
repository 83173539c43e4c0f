#pragma once
#include <array>
#include <cstdint>

/// Random numbers by counting instead of by drawing one after another: number k of fitting i depends on the
/// seed, i and k alone, so the answer is the same on any number of threads and a single fitting can be looked
/// at again. Philox-4x32-10: Salmon, Moraes, Dror and Shaw, Parallel random numbers: as easy as 1, 2, 3,
/// SC11, 2011.
namespace shankwright::trial {

using Words = std::array<std::uint32_t, 4>;

[[nodiscard]] Words philox(Words counter, std::array<std::uint32_t, 2> key);

/// Evenly spread over (0, 1), both ends left out; 52 bits. `which` counts the numbers of one fitting.
[[nodiscard]] double unit_number(std::uint64_t seed, std::uint64_t fitting, std::uint32_t which);

/// Philox delivers two such numbers a call: numbers `2 pair` and `2 pair + 1` of the fitting.
[[nodiscard]] std::array<double, 2> unit_pair(std::uint64_t seed, std::uint64_t fitting, std::uint32_t pair);

}  // namespace shankwright::trial
