#pragma once
#include <vector>

#include "procedure/decide.hpp"
#include "recipe/bite_plan.hpp"

/// The steps that decide() is made of. Internal to this folder and its tests.
namespace shankwright::procedure {

using Findings = std::vector<Finding>;

/// Lengths that differ by less than this are the same: a nanometre, far below any gauge, above decimal
/// rounding.
inline constexpr double rounding_mm = 1e-6;

inline Decision refuse(const State& last, Findings findings) {
  return {last, EntryKind::refused, std::move(findings), {}};
}
inline Decision not_this_step(const State& last) {
  return refuse(last, {{Code::not_this_step}});
}
Decision hold(State state, Findings findings);

// parts.cpp: admission, parts, marks, insertion
Decision admit(const State&, const Admit&, const recipe::JoinedRecipe&);
Decision rope_diameter(const State&, const RopeDiameter&, const recipe::JoinedRecipe&);
Decision shank_diameter(const State&, const ShankDiameter&, const recipe::JoinedRecipe&);
Decision bore_depth(const State&, const BoreDepth&, const recipe::JoinedRecipe&);
Decision depth_mark(const State&, const DepthMark&, const recipe::JoinedRecipe&);
Decision boundary_mark(const State&, const BoundaryMark&, const recipe::JoinedRecipe&);
Decision insertion(const State&, const Insertion&, const recipe::JoinedRecipe&);
/// Findings about the gauge a value was read with.
Findings tool_findings(const Tool& tool);

// placement.cpp: position and angle
Decision position(const State&, const Position&, const recipe::JoinedRecipe&);
Decision turn(const State&, const Turn&, const recipe::JoinedRecipe&);
Decision reseated(const State&, const Reseated&, const recipe::JoinedRecipe&);
/// What is wrong with a die edge for the coming bite; empty when it may be pressed there.
Findings edge_findings(const State& state, double edge_mm, const recipe::JoinedRecipe& joined);
/// Least angle between two shank angles, 0 to 180 degrees.
double angle_between_deg(double first_deg, double second_deg);

// permit.cpp: asking, giving and ending a permit
Decision request_permit(const State&, const RequestPermit&, const recipe::JoinedRecipe&);
Decision permit_durable(const State&, const PermitDurable&, const recipe::JoinedRecipe&);
Decision permit_refused(const State&, const PermitRefused&);
Decision permit_ended(const State&, const PermitEnded&);
Decision withdraw(const State&);

// bite.cpp: judging what the press did
Decision bite_started(const State&);
Decision bite_finished(const State&, const BiteFinished&, const recipe::JoinedRecipe&);

// interruptions.cpp: link, restart, aside, resume
Decision link_lost(const State&);
Decision restarted(const State&);
Decision unasked_bite(const State&);
Decision put_aside(const State&);
Decision resume(const State&, const Resume&);
Decision hold_by_operator(const State&);

// quarantine.cpp: holds for reasons outside the fitting's own evidence
Decision quarantined(const State&);
/// What was quarantined while a permit or bite was under way holds the fitting once that has ended.
Decision held_after_bite(Decision decision);
/// A hold that a reviewer may end by sending the fitting back to its work.
Decision hold_from_outside(const State& last, Findings findings);
/// Out of the press: whatever was proven about where the shank lies is void and must be proven again.
State taken_out(State state);
/// Work on the fitting goes on by itself: no permit, no bite, no verdict yet.
bool at_work(Stage stage);

// gauging.cpp: readings after pressing, verdict
Decision across_flats(const State&, const AcrossFlats&, const recipe::JoinedRecipe&);
Decision go_gauge(const State&, const GoGauge&);
Decision no_go_gauge(const State&, const NoGoGauge&);
Decision growth(const State&, const Growth&);
Decision straightness(const State&, const Straightness&);
Decision slip(const State&, const Slip&);
Decision surface_seen(const State&, const SurfaceSeen&);
Decision judge(const State&, const recipe::JoinedRecipe&);
Decision scrap(State state, Findings findings);

// ends.cpp: proof load, release, disposition
Decision proof_load(const State&, const ProofLoad&, const recipe::JoinedRecipe&);
Decision release(const State&, const Release&, const recipe::JoinedRecipe&);
Decision dispose(const State&, const Dispose&, const recipe::JoinedRecipe&);

}  // namespace shankwright::procedure
