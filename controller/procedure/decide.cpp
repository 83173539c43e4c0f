#include "procedure/decide.hpp"

#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

/// One overload per event: a new event that has no answer here does not compile.
struct Step {
  const State& last;
  const recipe::JoinedRecipe& joined;

  Decision operator()(const Admit& event) const { return admit(last, event, joined); }
  Decision operator()(const RopeDiameter& event) const { return rope_diameter(last, event, joined); }
  Decision operator()(const ShankDiameter& event) const { return shank_diameter(last, event, joined); }
  Decision operator()(const BoreDepth& event) const { return bore_depth(last, event, joined); }
  Decision operator()(const DepthMark& event) const { return depth_mark(last, event, joined); }
  Decision operator()(const BoundaryMark& event) const { return boundary_mark(last, event, joined); }
  Decision operator()(const Insertion& event) const { return insertion(last, event, joined); }
  Decision operator()(const Position& event) const { return position(last, event, joined); }
  Decision operator()(const Turn& event) const { return turn(last, event, joined); }
  Decision operator()(const Reseated& event) const { return reseated(last, event, joined); }
  Decision operator()(const RequestPermit& event) const { return request_permit(last, event, joined); }
  Decision operator()(const PermitDurable& event) const { return permit_durable(last, event, joined); }
  Decision operator()(const PermitRefused& event) const { return permit_refused(last, event); }
  Decision operator()(const PermitEnded& event) const { return permit_ended(last, event); }
  Decision operator()(const BiteStarted&) const { return bite_started(last); }
  Decision operator()(const BiteFinished& event) const { return bite_finished(last, event, joined); }
  Decision operator()(const LinkLost&) const { return link_lost(last); }
  Decision operator()(const Restarted&) const { return restarted(last); }
  Decision operator()(const UnaskedBite&) const { return unasked_bite(last); }
  Decision operator()(const Withdraw&) const { return withdraw(last); }
  Decision operator()(const PutAside&) const { return put_aside(last); }
  Decision operator()(const Resume& event) const { return resume(last, event); }
  Decision operator()(const HoldByOperator&) const { return hold_by_operator(last); }
  Decision operator()(const AcrossFlats& event) const { return across_flats(last, event, joined); }
  Decision operator()(const GoGauge& event) const { return go_gauge(last, event); }
  Decision operator()(const NoGoGauge& event) const { return no_go_gauge(last, event); }
  Decision operator()(const Growth& event) const { return growth(last, event); }
  Decision operator()(const Straightness& event) const { return straightness(last, event); }
  Decision operator()(const Slip& event) const { return slip(last, event); }
  Decision operator()(const SurfaceSeen& event) const { return surface_seen(last, event); }
  Decision operator()(const Judge&) const { return judge(last, joined); }
  Decision operator()(const Release& event) const { return release(last, event, joined); }
  Decision operator()(const Dispose& event) const { return dispose(last, event, joined); }
  Decision operator()(const Quarantined&) const { return quarantined(last); }
  Decision operator()(const ProofLoad& event) const { return proof_load(last, event, joined); }
};

}  // namespace

Decision decide(const State& last, const Event& event, const recipe::JoinedRecipe& joined) {
  return held_after_bite(std::visit(Step{last, joined}, event));
}

}  // namespace shankwright::procedure
