#include "simulators/operator/mistakes.hpp"

namespace shankwright::demo {

std::string_view text_of(Mistake mistake) {
  switch (mistake) {
    case Mistake::rope_not_home:
      return "rope not home";
    case Mistake::depth_mark_wrong:
      return "depth mark in the wrong place";
    case Mistake::wrong_dies:
      return "wrong die pair mounted";
    case Mistake::guard_open:
      return "guard left open";
    case Mistake::hands_let_go:
      return "hands let go early";
    case Mistake::dies_over_solid:
      return "dies over solid material";
    case Mistake::turn_forgotten:
      return "quarter turn forgotten";
    case Mistake::rope_pulled_out:
      return "rope pulled out after the permit";
    case Mistake::other_rope:
      return "other rope on the lot's reel";
    case Mistake::relief_valve_low:
      return "relief valve set low";
    case Mistake::worn_dies:
      return "worn die pair mounted";
  }
  return "";
}

namespace {

constexpr std::size_t fittings_in_three = 3;

/// Four fittings' worth. What ends in a hold comes at the first bite, so the turn is forgotten elsewhere.
std::vector<Mistakes> deal(Draw& draw) {
  std::vector<Mistake> mended{Mistake::rope_not_home, Mistake::depth_mark_wrong, Mistake::wrong_dies,
                              Mistake::guard_open,    Mistake::hands_let_go,     Mistake::dies_over_solid};
  draw.shuffle(mended);
  std::vector<Mistakes> hands{{Mistake::turn_forgotten, Mistake::worn_dies, mended[0], mended[1]},
                              {Mistake::rope_pulled_out, mended[2]},
                              {Mistake::other_rope, mended[3]},
                              {Mistake::relief_valve_low, mended[4], mended[5]}};
  draw.shuffle(hands);
  return hands;
}

}  // namespace

std::vector<Mistakes> plan_mistakes(std::size_t fittings, Draw& draw) {
  std::vector<Mistakes> plan(fittings);
  std::vector<Mistakes> hands;
  for (std::size_t first = 0; first < fittings; first += fittings_in_three) {
    if (hands.empty()) hands = deal(draw);
    const std::size_t erring =
        first == 0 ? 1 + draw.below(fittings_in_three - 1) : first + draw.below(fittings_in_three);
    if (erring < fittings) plan[erring] = hands.back();
    hands.pop_back();
  }
  return plan;
}

}  // namespace shankwright::demo
