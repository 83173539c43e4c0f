#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

/// What a bite's trace may be telling of. Stored and sent by name: never rename one, only add at the end.
namespace shankwright::diagnosis {

enum class Hypothesis : std::uint8_t {
  good,                 ///< the parts, tools and oil the recipe asks for, within their tolerances
  no_rope,              ///< the bore is empty under the whole die
  softer_construction,  ///< less metal in the bore than the recipe's rope: softer construction, or a thinner
                        ///< rope
  harder_construction,  ///< more metal in the bore
  oversize_shank,       ///< thicker than the drawing's band
  undersize_shank,      ///< thinner than the band
  solid_in_die,         ///< the die stands over solid material with part of its length, or all of it
  wrong_die,            ///< another across flats than the recipe's die pair, or the pair worn open
  weak_pump_or_air,     ///< the pump delivers less, or the oil holds air
  dry_dies,             ///< friction between die and shank above what lubricated dies have
  frame_or_gap_sensor,  ///< a gap reading with an offset, or one that moves with the force: bent frame
  count_
};
inline constexpr std::size_t hypothesis_count = static_cast<std::size_t>(Hypothesis::count_);

/// Name in JSON.
[[nodiscard]] std::string_view name_of(Hypothesis hypothesis);
/// The same for people, as a noun phrase.
[[nodiscard]] std::string_view words_of(Hypothesis hypothesis);
/// What a technician looks at first.
[[nodiscard]] std::string_view advice_of(Hypothesis hypothesis);
/// How likely each is before the trace is looked at. An assumption of ours (no source): 95 bites in a hundred
/// are good, the faults share the rest evenly.
[[nodiscard]] double prior_of(Hypothesis hypothesis);

template <typename T>
using PerHypothesis = std::array<T, hypothesis_count>;

}  // namespace shankwright::diagnosis
