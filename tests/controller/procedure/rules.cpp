#include <algorithm>

#include "explorer.hpp"

namespace shankwright::tests {

using namespace procedure;

namespace {

bool has(const Decision& decision, Order order) {
  return std::find(decision.orders.begin(), decision.orders.end(), order) != decision.orders.end();
}

bool pressing(Stage stage) {
  return stage == Stage::permit_recorded || stage == Stage::permit_given || stage == Stage::biting;
}

/// Evidence that counts from now on, and what it voids.
void learn(const State& before, const Offer& offer, const State& after, Truth& truth) {
  const Event& event = offer.event;
  const auto is = [&event]<typename T>(T*) { return std::holds_alternative<T>(event); };
#define IS(Type) is(static_cast<Type*>(nullptr))
  if (IS(Admit)) truth.admitted = offer.sound;
  if (IS(RopeDiameter)) truth.rope = offer.sound;
  if (IS(ShankDiameter)) truth.shank = offer.sound;
  if (IS(BoreDepth)) {
    truth.bore = offer.sound;
    truth.depth_mark = truth.boundary_mark = truth.inserted = truth.placed = false;
  }
  if (IS(DepthMark)) {
    truth.depth_mark = offer.sound;
    truth.inserted = false;
  }
  if (IS(BoundaryMark)) {
    truth.boundary_mark = offer.sound;
    truth.placed = false;
  }
  if (IS(Insertion)) truth.inserted = offer.sound;
  if (IS(Position)) {
    truth.placed = offer.sound;
    truth.placed_edge_mm = offer.edge_mm;
  }
  if (IS(Turn)) {
    truth.turned = offer.sound;
    truth.pass_angle_deg = offer.angle_deg;
    truth.placed = false;
  }
  if (IS(Reseated)) truth.in_the_dies = offer.sound;
  if (IS(PutAside) || IS(Restarted)) {
    truth.placed = false;
    if (before.bites_done == 0)
      truth.inserted = false;
    else if (before.stage == Stage::position || before.stage == Stage::turn) {
      truth.in_the_dies = false;
      if (before.stage == Stage::position && before.bite == 0 && before.pass > 1) {
        truth.turned = false;
        truth.pass_angle_deg = before.previous_angle_deg.value_or(0);
      }
    }
  }
  if (IS(AcrossFlats)) truth.size = offer.size;
  if (IS(GoGauge)) truth.go = offer.reading;
  if (IS(NoGoGauge)) truth.no_go = offer.reading;
  if (IS(Growth)) truth.growth = offer.reading;
  if (IS(Slip)) truth.slip = offer.reading;
  if (IS(Growth)) truth.slip = 0;
  if (IS(Straightness)) truth.straight = offer.reading;
  if (IS(SurfaceSeen)) truth.surface = offer.reading;
  if (IS(BiteFinished)) {
    if (offer.sound) {
      truth.bites_good += 1;
      truth.last_edge_mm = truth.placed_edge_mm;
    } else if (offer.hands && after.stage == Stage::position) {
      truth.repeats += 1;
    } else {
      truth.every_bite_good = false;
    }
    truth.placed = false;
  }
#undef IS
}

/// The verdict that the requirement gives for these readings.
Stage verdict(const Truth& t, int re_presses_max) {
  const bool unfit = t.surface != static_cast<int>(Surface::sound) || t.straight == 2 || t.slip == 2;
  if (unfit) return Stage::scrapped;
  const bool go_passes = t.go == 1, no_go_passes = t.no_go == 1;
  const bool over = t.size == Size::over || t.size == Size::over_and_under;
  bool contradiction = false;
  if (go_passes && !no_go_passes) contradiction = over;
  if (go_passes && no_go_passes) contradiction = over || t.size == Size::inside;
  if (!go_passes && !no_go_passes) contradiction = t.size == Size::inside || t.size == Size::under;
  if (!go_passes && no_go_passes) contradiction = true;
  if (contradiction) return Stage::hold;
  if (t.size == Size::over_and_under || t.size == Size::under || no_go_passes) return Stage::scrapped;
  if (t.size == Size::over || !go_passes)
    return t.re_presses < re_presses_max ? Stage::turn : Stage::scrapped;
  if (t.growth != 1 || t.size == Size::near_limit) return Stage::hold;
  return Stage::accepted;
}

std::string judged_rules(const Decision& decision, int re_presses_max, Truth& truth) {
  const bool all = truth.size != Size::not_read && truth.go != 0 && truth.no_go != 0 && truth.growth != 0 &&
                   truth.slip != 0 && truth.straight != 0 && truth.surface != 0;
  if (!all)
    return decision.entry == EntryKind::refused ? "" : "a verdict on readings that were not all given";
  const Stage expected = verdict(truth, re_presses_max);
  if (decision.state.stage != expected) return "a verdict other than the requirement gives";
  if (expected == Stage::turn) {
    truth.re_presses += 1;
    truth.in_the_dies = false;
    truth.size = Size::not_read;
    truth.go = truth.no_go = truth.growth = truth.slip = truth.straight = truth.surface = 0;
  }
  return "";
}

std::string permit_rules(const Offer& offer, const Truth& truth) {
  if (!offer.sound) return "a permit while the press is not as it must be";
  if (!truth.admitted) return "a permit without a sound admission";
  if (!truth.rope || !truth.shank || !truth.bore) return "a permit without parts measured in tolerance";
  if (!truth.depth_mark || !truth.boundary_mark) return "a permit without sound marks";
  if (!truth.inserted) return "a permit without proof that the rope is home";
  if (!truth.placed) return "a permit without a sound position";
  if (!truth.turned) return "a permit in a pass whose quarter turn is not proven";
  if (!truth.in_the_dies) return "a permit for a shank that was out of the dies";
  if (!truth.every_bite_good) return "a permit after a bad bite";
  return "";
}

}  // namespace

std::string judge_step(const State& before, const Offer& offer, const Decision& decision,
                       const recipe::JoinedRecipe& joined, Truth& truth) {
  const State& after = decision.state;
  const bool taken = decision.entry != EntryKind::refused;
  const bool judging = std::holds_alternative<Judge>(offer.event);
  if (!taken) {
    if (after != before) return "a refused event changed the state";
    if (!decision.orders.empty()) return "a refused event gave an order";
    if (decision.findings.empty()) return "a refusal without a reason";
  }
  const bool interrupted = (std::holds_alternative<LinkLost>(offer.event) && truth.told) ||
                           (std::holds_alternative<Restarted>(offer.event) && truth.permit_out) ||
                           (std::holds_alternative<PermitEnded>(offer.event) && truth.told && !offer.sound &&
                            before.stage == Stage::permit_given);
  if (interrupted && after.stage != Stage::hold) return "a bite nobody saw the end of did not lead to a hold";
  const bool working = before.stage == Stage::measure || before.stage == Stage::mark ||
                       before.stage == Stage::insert || before.stage == Stage::position ||
                       before.stage == Stage::turn || before.stage == Stage::gauge;
  if (std::holds_alternative<UnaskedBite>(offer.event) && working && after.stage != Stage::hold)
    return "a bite nobody asked for did not lead to a hold";
  if (!taken) return "";

  if (std::holds_alternative<Admit>(offer.event) && !offer.sound) return "an admission that was not in order";
  if (std::holds_alternative<Resume>(offer.event) && !offer.sound) return "two fittings at one press";
  if (std::holds_alternative<Turn>(offer.event) && !truth.in_the_dies)
    return "a turn away from flats the shank does not lie on";
  if (before.stage == Stage::released || before.stage == Stage::scrapped)
    return "an end that was not the end";
  const bool disposed = std::holds_alternative<Dispose>(offer.event);
  if (before.stage == Stage::hold && !disposed) return "a hold that ended without a disposition";
  if (disposed && !offer.sound) return "a disposition without reviewer and reason";
  if (std::holds_alternative<Release>(offer.event) && (!offer.sound || before.stage != Stage::accepted))
    return "a release of what is not accepted, or by nobody";

  if (judging) {
    if (std::string broken = judged_rules(decision, joined.recipe.re_presses_max, truth); !broken.empty())
      return broken;
  } else {
    learn(before, offer, after, truth);
  }
  if (has(decision, Order::record_permit) || has(decision, Order::give_permit))
    if (std::string broken = permit_rules(offer, truth); !broken.empty()) return broken;
  if (has(decision, Order::give_permit) && before.stage != Stage::permit_recorded)
    return "a permit given that is not in the record";

  truth.permit_out = pressing(after.stage);
  truth.told = after.stage == Stage::permit_given || after.stage == Stage::biting;
  if (truth.repeats > joined.recipe.repeat_bites_max) return "more repeated bites than the recipe allows";
  if (truth.re_presses > joined.recipe.re_presses_max) return "more re-presses than the recipe allows";

  const bool goes_on = after.stage == Stage::position || after.stage == Stage::turn ||
                       after.stage == Stage::gauge || after.stage == Stage::accepted ||
                       (after.stage == Stage::released && !disposed);
  if (goes_on && !truth.every_bite_good) return "work went on after a bad bite";
  if (after.stage == Stage::gauge && before.stage != Stage::gauge &&
      std::holds_alternative<BiteFinished>(offer.event)) {
    const int wanted = 2 * (joined.recipe.passes + truth.re_presses);  // two bites a pass in the bench recipe
    if (truth.bites_good != wanted) return "gauging before every bite was made";
    if (truth.last_edge_mm + joined.die_pair.length_mm < 32) return "the mouth end was left unswaged";
  }
  if (after.stage == Stage::position || pressing(after.stage)) {
    if (!truth.rope || !truth.shank || !truth.bore || !truth.depth_mark || !truth.boundary_mark ||
        !truth.inserted)
      return "positioning without sound parts, marks and insertion";
  }
  return "";
}

}  // namespace shankwright::tests
