#include "simulators/plant/random.hpp"

#include <cmath>
#include <numbers>

namespace shankwright::plant {

namespace {

std::uint64_t splitmix(std::uint64_t& state) {
  state += 0x9E3779B97F4A7C15u;
  std::uint64_t z = state;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

std::uint64_t rotate(std::uint64_t value, int by) {
  return (value << by) | (value >> (64 - by));
}

}  // namespace

Random::Random(std::uint64_t seed) {
  for (auto& word : state_) word = splitmix(seed);
}

std::uint64_t Random::bits() {
  const std::uint64_t result = rotate(state_[1] * 5, 7) * 9;
  const std::uint64_t shifted = state_[1] << 17;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= shifted;
  state_[3] = rotate(state_[3], 45);
  return result;
}

double Random::uniform() {
  return static_cast<double>(bits() >> 11) * 0x1.0p-53;
}

double Random::uniform(double least, double most) {
  return least + (most - least) * uniform();
}

double Random::normal(double mean, double standard_deviation) {
  // Box and Muller, one of the pair only: a draw then takes the same number of bits whatever was drawn
  // before.
  const double radius = std::sqrt(-2 * std::log(1 - uniform()));
  return mean + standard_deviation * radius * std::cos(2 * std::numbers::pi * uniform());
}

double Random::inside(double least, double most) {
  if (!(most > least)) return least;
  const double middle = (least + most) / 2;
  for (;;) {
    const double value = normal(middle, (most - least) / 6);
    if (value >= least && value <= most) return value;
  }
}

bool Random::chance(double probability) {
  return uniform() < probability;
}

Random Random::fork(std::uint64_t purpose) {
  return Random(bits() ^ (purpose * 0x9E3779B97F4A7C15u));
}

}  // namespace shankwright::plant
