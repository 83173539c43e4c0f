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

bool under_way(Stage stage) {
  return stage == Stage::permit_given || stage == Stage::biting;
}

bool open(Stage stage) {
  return stage != Stage::none && stage != Stage::released && stage != Stage::scrapped;
}

/// The shank leaves the dies from where it stood: what was proven about how it lies there is proven no more.
void out_of_the_dies(const State& stood, Stage at, Truth& truth) {
  truth.placed = false;
  if (truth.bites_good == 0 && stood.bites_done == 0) {
    truth.inserted = false;
    return;
  }
  if (at != Stage::position && at != Stage::turn) return;
  truth.in_the_dies = false;
  if (at == Stage::position && stood.bite == 0 && stood.pass > 1) {
    truth.turned = false;
    truth.pass_angle_deg = stood.previous_angle_deg.value_or(0);
  }
}

/// Evidence that counts from now on, and what it voids.
void learn(const State& before, const Offer& offer, const State& after, int passes, Truth& truth) {
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
  if (IS(PutAside) || IS(Restarted)) out_of_the_dies(before, before.stage, truth);
  const bool from_outside = IS(HoldByOperator) || IS(Quarantined);
  if (from_outside && before.stage != Stage::hold && !under_way(before.stage)) {
    if (before.stage != Stage::aside)
      out_of_the_dies(before, before.stage == Stage::permit_recorded ? Stage::position : before.stage, truth);
    truth.held_from_outside = true;
  }
  if (IS(Quarantined)) {
    truth.quarantine_waits = under_way(before.stage);
    truth.proposed = 0;
  }
  if (IS(ProofLoad)) {
    truth.proof = offer.reading;
    truth.proof_slipped = truth.proof_slipped || offer.slips;
    truth.proposed = 0;
    if (offer.slips) truth.held_from_outside = false;
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
    } else if (offer.hands && (after.stage == Stage::position || truth.quarantine_waits) &&
               after.repeats > before.repeats) {
      truth.repeats += 1;
    } else {
      truth.every_bite_good = false;
    }
    truth.placed = false;
  }
  if (truth.quarantine_waits && after.stage == Stage::hold) {  // what was under way has ended
    const int wanted = 2 * (passes + truth.re_presses);
    const bool whole = IS(BiteFinished) && offer.sound;
    const bool nothing_bad = whole || IS(PermitRefused) || (IS(PermitEnded) && offer.sound) ||
                             (IS(BiteFinished) && offer.hands && after.repeats > before.repeats);
    if (nothing_bad && truth.every_bite_good) {
      if (whole && truth.bites_good < wanted)
        truth.in_the_dies = truth.placed = false;
      else if (!whole)
        out_of_the_dies(before, Stage::position, truth);
      truth.held_from_outside = true;
    }
  }
#undef IS
}

/// What must follow when something that a fitting uses is quarantined.
std::string quarantine_rules(const State& before, const Offer& offer, const Decision& decision,
                             Truth& truth) {
  const Stage now = decision.state.stage;
  if (std::holds_alternative<Quarantined>(offer.event) && open(before.stage)) {
    if (!under_way(before.stage) && now != Stage::hold)
      return "an open fitting went on with what is quarantined";
    if (before.stage == Stage::permit_given && !has(decision, Order::withdraw_permit))
      return "a permit that stayed out for what is quarantined";
  }
  if (!truth.quarantine_waits) return "";
  if (under_way(now)) return "";
  truth.quarantine_waits = false;
  return now == Stage::hold ? "" : "a bite that went on to more with what is quarantined";
}

std::string disposition_rules(const State& before, const Offer& offer, const State& after,
                              const recipe::Recipe& recipe, Truth& truth) {
  const Dispose& asked = std::get<Dispose>(offer.event);
  if (!offer.sound) return "a disposition without reviewer, reason, signature or of what is quarantined";
  const int wish = 1 + static_cast<int>(asked.disposition);
  if (asked.disposition == Disposition::return_to_work && !truth.held_from_outside)
    return "back to work with evidence against it";
  if (asked.disposition == Disposition::use_as_is && recipe.proof &&
      (truth.proof != 1 || truth.proof_slipped))
    return "used as it is without the proof load that the recipe asks for";
  if (recipe.two_person_disposition && truth.proposed != wish) {
    truth.proposed = wish;
    return after.stage == before.stage ? "" : "a disposition on one signature where two are asked for";
  }
  if (recipe.two_person_disposition && offer.same_person) return "a disposition that one person signed twice";
  truth.proposed = 0;
  truth.held_from_outside = false;
  const Stage expected = asked.disposition == Disposition::scrap       ? Stage::scrapped
                         : asked.disposition == Disposition::use_as_is ? Stage::released
                                                                       : Stage::aside;
  return after.stage == expected ? "" : "a disposition that did something else";
}

std::string proof_rules(const State& before, const Offer& offer, const Decision& decision,
                        const recipe::Recipe& recipe) {
  if (!offer.sound) return "a proof load read with a gauge that cannot be trusted";
  const State& after = decision.state;
  const bool bad = recipe.proof ? offer.reading != 1 : offer.slips;  // nothing asked for: nothing too low
  if (bad && decision.entry == EntryKind::evidence)
    return "a proof load that shows something wrong passed for a good one";
  const bool rejected = before.stage == Stage::accepted && offer.slips;
  if (after.stage != (rejected ? Stage::scrapped : before.stage)) return "a proof load that led elsewhere";
  if (offer.slips && after.standing.empty()) return "a slipped rope that nothing stands against";
  return "";
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
  if (!taken) {
    if (std::holds_alternative<Quarantined>(offer.event) && open(before.stage))
      return "a quarantine that an open fitting refused";
    return "";
  }

  if (std::holds_alternative<Admit>(offer.event) && !offer.sound) return "an admission that was not in order";
  if (std::holds_alternative<Resume>(offer.event) && !offer.sound) return "two fittings at one press";
  if (std::holds_alternative<Turn>(offer.event) && !truth.in_the_dies)
    return "a turn away from flats the shank does not lie on";
  const bool pulled = std::holds_alternative<ProofLoad>(offer.event);
  const bool ended = before.stage == Stage::released || before.stage == Stage::scrapped;
  if (ended && (after.stage != before.stage || !(pulled && before.stage == Stage::released)))
    return "an end that was not the end";
  const bool disposed = std::holds_alternative<Dispose>(offer.event);
  if (before.stage == Stage::hold && after.stage != Stage::hold && !disposed)
    return "a hold that ended without a disposition";
  if (disposed)
    if (std::string broken = disposition_rules(before, offer, after, joined.recipe, truth); !broken.empty())
      return broken;
  if (pulled)
    if (std::string broken = proof_rules(before, offer, decision, joined.recipe); !broken.empty())
      return broken;
  if (std::holds_alternative<Release>(offer.event)) {
    if (!offer.sound || before.stage != Stage::accepted)
      return "a release of what is not accepted, or by nobody";
    if (joined.recipe.proof && truth.proof != 1)
      return "a release without the proof load that the recipe asks for";
  }

  if (judging) {
    if (std::string broken = judged_rules(decision, joined.recipe.re_presses_max, truth); !broken.empty())
      return broken;
  } else {
    learn(before, offer, after, joined.recipe.passes, truth);
  }
  if (std::string broken = quarantine_rules(before, offer, decision, truth); !broken.empty()) return broken;
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
                       (after.stage == Stage::released && before.stage != Stage::released && !disposed);
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
