#pragma once
#include <string>
#include <vector>

#include "simulators/operator/json_client.hpp"

/// What can be made here: released recipes with lots of rope and terminals that may be used.
namespace shankwright::demo {

struct Work {
  std::string recipe, rope, die_pair, rope_lot, terminal_lot;  ///< ids
};

/// Those whose rope is not a 1x19 strand, by their ropes' ids: there a strand in its place is much too hard,
/// while a rope in place of a strand is only a little soft. All of them when there is no such.
[[nodiscard]] std::vector<Work> where_a_strand_is_wrong(const std::vector<Work>& choice);

/// `wanted`: ids of recipes, or empty for a few sizes in inches and millimetres. `library` is the station's.
/// Throws Stuck when a wanted recipe cannot be made, or nothing can.
[[nodiscard]] std::vector<Work> work_to_choose_from(const Json& library,
                                                    const std::vector<std::string>& wanted);

}  // namespace shankwright::demo
