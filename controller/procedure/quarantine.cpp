#include <algorithm>

#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

bool under_way(Stage stage) {
  return stage == Stage::permit_given || stage == Stage::biting;
}

/// A held fitting learns of one more reason; what was proposed without knowing it is void.
Decision told_while_held(State state) {
  const Finding reason{Code::item_quarantined};
  if (std::find(state.standing.begin(), state.standing.end(), reason) == state.standing.end())
    state.standing.push_back(reason);
  if (on(Guard::news_voids_proposal)) state.proposed.reset();
  return {std::move(state), EntryKind::evidence, {reason}, {}};
}

}  // namespace

Decision hold_from_outside(const State& last, Findings findings) {
  State state = last;
  if (last.stage != Stage::aside) {
    if (on(Guard::held_taken_out))
      state = taken_out(std::move(state));
    else
      state.aside_from = state.stage;
  }
  state.held_from = state.aside_from;
  state.aside_from = Stage::none;
  return hold(std::move(state), std::move(findings));
}

Decision quarantined(const State& last) {
  if (last.stage == Stage::none || last.stage == Stage::released || last.stage == Stage::scrapped)
    return not_this_step(last);
  if (!on(Guard::quarantine_holds)) return {last, EntryKind::evidence, {{Code::item_quarantined}}, {}};
  if (last.stage == Stage::hold) return told_while_held(last);
  State state = last;
  if (under_way(last.stage)) {
    // What the press does now it does anyway, and it must be recorded to its end. A permit not yet used is
    // taken back; dies on their way are let go to theirs: half a bite helps nobody.
    state.hold_after_bite = on(Guard::quarantine_outlives_bite);
    std::vector<Order> orders;
    if (last.stage == Stage::permit_given && on(Guard::quarantine_withdraws))
      orders.push_back(Order::withdraw_permit);
    return {std::move(state), EntryKind::finding, {{Code::item_quarantined}}, std::move(orders)};
  }
  if (last.stage == Stage::permit_recorded) state.stage = Stage::position;  // the press has not been told
  return hold_from_outside(state, {{Code::item_quarantined}});
}

Decision held_after_bite(Decision decision) {
  State& state = decision.state;
  if (!state.hold_after_bite || under_way(state.stage)) return decision;
  state.hold_after_bite = false;
  decision.findings.push_back({Code::item_quarantined});
  if (state.stage == Stage::hold) {
    state.standing = decision.findings;
    return decision;
  }
  return hold_from_outside(state, decision.findings);
}

}  // namespace shankwright::procedure
