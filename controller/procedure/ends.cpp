#include <cmath>

#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

/// What a proof load must show. Where the recipe asks for none, one may be recorded all the same: a rope that
/// moved in it is a fault whatever was asked.
recipe::ProofTest wanted_proof(const recipe::Recipe& recipe) {
  return recipe.proof.value_or(recipe::ProofTest{0, 0, recipe.slip_mm_max});
}

bool seconds_a_proposal(const State& last, const Dispose& asked) {
  return last.proposed && !broken(Guard::second_agrees, *last.proposed != asked.disposition);
}

Findings against(const State& last, const Dispose& asked, const recipe::Recipe& recipe) {
  Findings findings;
  if (broken(Guard::reviewer, !asked.reviewer)) findings.push_back({Code::reviewer_needed});
  if (broken(Guard::reason, !asked.reason_given)) findings.push_back({Code::reason_needed});
  if (broken(Guard::signature, !asked.signed_with_pin)) findings.push_back({Code::signature_needed});
  if (asked.disposition == Disposition::scrap) return findings;
  if (broken(Guard::disposition_items_free, !asked.items_free)) findings.push_back({Code::item_quarantined});
  if (asked.disposition == Disposition::return_to_work &&
      broken(Guard::return_only_sound, last.held_from == Stage::none))
    findings.push_back({Code::not_returnable});
  const bool unproven = recipe.proof && (!last.proof_passed || last.proof_slipped);
  if (asked.disposition == Disposition::use_as_is && broken(Guard::proof_before_use_as_is, unproven))
    findings.push_back({Code::proof_load_missing});
  return findings;
}

}  // namespace

Decision proof_load(const State& last, const ProofLoad& pull, const recipe::JoinedRecipe& joined) {
  const bool pulled = last.stage == Stage::accepted || last.stage == Stage::released ||
                      (last.stage == Stage::hold && last.bites_done > 0);
  if (!pulled) return not_this_step(last);
  Findings findings = tool_findings(pull.tool);
  if (!findings.empty()) return refuse(last, std::move(findings));

  const recipe::ProofTest wanted = wanted_proof(joined.recipe);
  const bool slipped =
      broken(Guard::proof_slip, !(std::abs(pull.slip_mm) <= wanted.slip_mm_max + rounding_mm));
  if (slipped) findings.push_back({Code::proof_load_slipped, std::abs(pull.slip_mm), 0, wanted.slip_mm_max});
  if (broken(Guard::proof_load, !(pull.load_kn >= wanted.load_kn)))
    findings.push_back({Code::proof_load_low, pull.load_kn, wanted.load_kn, wanted.load_kn});
  if (broken(Guard::proof_time, !(pull.held_s >= wanted.hold_s)))
    findings.push_back({Code::proof_load_short, pull.held_s, wanted.hold_s, wanted.hold_s});

  State state = last;
  state.proof_load_kn = pull.load_kn;
  state.proof_held_s = pull.held_s;
  state.proof_slip_mm = pull.slip_mm;
  state.proof_passed = findings.empty();
  if (slipped) state.proof_slipped = true;
  if (last.stage == Stage::hold && on(Guard::news_voids_proposal)) state.proposed.reset();
  if (findings.empty()) return {std::move(state), EntryKind::evidence, {}, {}};
  // Too little or too short proves nothing and harms nothing: it may be pulled again. A rope that slipped is
  // rejected: scrap where that is still ours to say; beyond that it stands against the serial for good.
  if (slipped && last.stage == Stage::accepted) return scrap(std::move(state), std::move(findings));
  if (slipped) {
    if (!last.proof_slipped) state.standing.push_back(findings.front());
    state.held_from = Stage::none;
  }
  return {std::move(state), EntryKind::finding, std::move(findings), {}};
}

Decision release(const State& last, const Release& asked, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::accepted) return refuse(last, {{Code::not_accepted}});
  Findings findings;
  if (broken(Guard::release_signed_in, !asked.operator_signed_in))
    findings.push_back({Code::operator_not_signed_in});
  if (broken(Guard::proof_before_release, joined.recipe.proof && !last.proof_passed))
    findings.push_back({Code::proof_load_missing});
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  state.stage = Stage::released;
  return {std::move(state), EntryKind::verdict, {}, {}};
}

Decision dispose(const State& last, const Dispose& asked, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::hold) return not_this_step(last);
  if (Findings findings = against(last, asked, joined.recipe); !findings.empty())
    return refuse(last, std::move(findings));
  State state = last;
  if (joined.recipe.two_person_disposition) {
    if (!seconds_a_proposal(last, asked)) {  // the first signature, or one that thinks otherwise
      state.proposed = asked.disposition;
      return {std::move(state), EntryKind::evidence, {}, {}};
    }
    if (broken(Guard::second_person, asked.same_person_as_proposed))
      return refuse(last, {{Code::second_person_needed}});
  }
  state.proposed.reset();
  switch (asked.disposition) {
    case Disposition::scrap:
      state.stage = Stage::scrapped;
      break;
    case Disposition::use_as_is:
      state.stage = Stage::released;
      break;
    case Disposition::return_to_work:
      state.stage = Stage::aside;
      state.aside_from = state.held_from;
      state.standing.clear();
      break;
  }
  state.held_from = Stage::none;
  return {std::move(state), EntryKind::verdict, {}, {}};
}

}  // namespace shankwright::procedure
