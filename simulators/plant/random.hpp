#pragma once
#include <cstdint>

namespace shankwright::plant {

/// The simulators' own dice: xoshiro256** (Blackman and Vigna, public domain) seeded through splitmix64, with
/// its own normal distribution, because std::normal_distribution may differ between standard libraries and a
/// seed must mean the same world everywhere.
class Random {
 public:
  explicit Random(std::uint64_t seed);

  [[nodiscard]] std::uint64_t bits();
  [[nodiscard]] double uniform();  ///< [0, 1)
  [[nodiscard]] double uniform(double least, double most);
  [[nodiscard]] double normal(double mean, double standard_deviation);
  /// Normal about the middle of [least, most] with the band at three standard deviations, drawn again until
  /// inside.
  [[nodiscard]] double inside(double least, double most);
  [[nodiscard]] bool chance(double probability);
  /// A generator of its own for one purpose, so that one more draw here does not shift every draw there.
  [[nodiscard]] Random fork(std::uint64_t purpose);

 private:
  std::uint64_t state_[4];
};

}  // namespace shankwright::plant
