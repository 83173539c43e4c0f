#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

bool permit_or_bite(Stage stage) {
  return stage == Stage::permit_recorded || stage == Stage::permit_given || stage == Stage::biting;
}

}  // namespace

bool at_work(Stage stage) {
  return stage == Stage::measure || stage == Stage::mark || stage == Stage::insert ||
         stage == Stage::position || stage == Stage::turn || stage == Stage::gauge;
}

State taken_out(State state) {
  if (state.stage == Stage::position && state.bites_done == 0) {
    if (on(Guard::aside_voids_insertion)) {
      state.insertion_mm.reset();
      state.stage = Stage::insert;
    }
    state.angle_deg.reset();
  }
  if (on(Guard::aside_voids_position)) state.edge_mm.reset();
  const bool between_bites = state.stage == Stage::position || state.stage == Stage::turn;
  if (between_bites && state.bites_done > 0) {
    if (state.stage == Stage::position && state.bite == 0 && state.pass > 1 && on(Guard::aside_voids_turn)) {
      // turned but not yet bitten: back to the flats of the pass before, and the turn is proven anew
      state.stage = Stage::turn;
      state.pass -= 1;
      state.angle_deg = state.previous_angle_deg;
    }
    if (on(Guard::aside_wants_reseat)) state.reseat_needed = true;
  }
  state.aside_from = state.stage;
  state.stage = Stage::aside;
  return state;
}

Decision hold(State state, Findings findings) {
  state.stage = Stage::hold;
  state.token = 0;
  state.standing = findings;
  return {std::move(state), EntryKind::verdict, std::move(findings), {}};
}

Decision link_lost(const State& last) {
  if (last.stage == Stage::permit_recorded) {  // the press has not been told
    State state = last;
    state.stage = Stage::position;
    state.token = 0;
    return {std::move(state), EntryKind::finding, {{Code::press_evidence_stale}}, {}};
  }
  if (last.stage != Stage::permit_given && last.stage != Stage::biting) return not_this_step(last);
  if (!on(Guard::link_loss_holds)) return {last, EntryKind::evidence, {}, {}};
  return hold(last, {{Code::link_lost_in_bite}});
}

Decision restarted(const State& last) {
  if (permit_or_bite(last.stage) && on(Guard::restart_holds))
    return hold(last, {{Code::bite_interrupted_by_restart}});
  if (at_work(last.stage)) return {taken_out(last), EntryKind::evidence, {}, {}};
  return not_this_step(last);
}

Decision unasked_bite(const State& last) {
  if (!at_work(last.stage) || !on(Guard::unasked_bite_holds)) return not_this_step(last);
  return hold(last, {{Code::bite_without_permit}});
}

Decision put_aside(const State& last) {
  if (permit_or_bite(last.stage)) return refuse(last, {{Code::bite_under_way}});
  // An accepted one makes room at the press while it waits for its other end or its proof load.
  if (!at_work(last.stage) && last.stage != Stage::accepted) return not_this_step(last);
  return {taken_out(last), EntryKind::evidence, {}, {}};
}

Decision resume(const State& last, const Resume& asked) {
  if (last.stage != Stage::aside) return not_this_step(last);
  if (broken(Guard::one_at_the_press, asked.another_open))
    return refuse(last, {{Code::another_fitting_open}});
  State state = last;
  state.stage = last.aside_from;
  state.aside_from = Stage::none;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

Decision hold_by_operator(const State& last) {
  if (permit_or_bite(last.stage)) return refuse(last, {{Code::bite_under_way}});
  if (!at_work(last.stage) && last.stage != Stage::aside && last.stage != Stage::accepted)
    return not_this_step(last);
  return hold_from_outside(last, {{Code::held_by_operator}});
}

}  // namespace shankwright::procedure
