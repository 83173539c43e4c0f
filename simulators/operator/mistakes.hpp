#pragma once
#include <cstddef>
#include <cstdint>
#include <random>
#include <set>
#include <string_view>
#include <vector>

/// What the demo's operator does wrong, drawn from the seed, so that a watcher sees every refusal and every
/// kind of hold.
namespace shankwright::demo {

enum class Mistake : std::uint8_t {
  rope_not_home,
  depth_mark_wrong,
  wrong_dies,
  guard_open,
  hands_let_go,
  dies_over_solid,
  turn_forgotten,
  rope_pulled_out,  ///< after its depth was proven and the permit given: only the trace can tell
  other_rope,       ///< another construction off a reel that bears the right lot
  relief_valve_low,
  worn_dies  ///< the pair bears the right tag; only the gauges can tell
};

[[nodiscard]] std::string_view text_of(Mistake mistake);

/// Draws that are the same on every machine (the standard's distributions are not).
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : engine_(seed) {}
  /// 0 to count - 1; count is above 0.
  [[nodiscard]] std::size_t below(std::size_t count) { return static_cast<std::size_t>(engine_() % count); }
  template <typename Item>
  void shuffle(std::vector<Item>& items) {
    for (std::size_t left = items.size(); left > 1; --left) std::swap(items[left - 1], items[below(left)]);
  }

 private:
  std::mt19937_64 engine_;
};

using Mistakes = std::set<Mistake>;

/// The mistakes made on each of `fittings` fittings: in each three one fitting has some, the first of all has
/// none, and every kind occurs once in each twelve.
[[nodiscard]] std::vector<Mistakes> plan_mistakes(std::size_t fittings, Draw& draw);

}  // namespace shankwright::demo
