#include <algorithm>
#include <cmath>

#include "procedure/expectation.hpp"
#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {
namespace {

constexpr std::uint16_t fault_hands_released = 3;  // press-map: fault_code

/// Dwell is counted by the press in its own cycles of 10 ms; one cycle at either end is not a short dwell.
constexpr double dwell_counting_ms = 20;

/// The press reports its highest pressure, the trace holds every 2 ms: they may differ by what happens
/// between two samples and by rounding, not by more.
double peak_disagreement_bar(double peak_bar) {
  return 1.0 + 0.02 * peak_bar;
}

Findings trace_findings(const BiteFinished& bite) {
  if (broken(Guard::trace_present, !bite.trace_present)) return {{Code::trace_missing}};
  Findings findings;
  if (broken(Guard::trace_whole, bite.samples_missing > 0))
    findings.push_back({Code::trace_has_hole, static_cast<double>(bite.samples_missing)});
  const double allowed = peak_disagreement_bar(bite.peak_pressure_bar);
  const double apart = std::abs(bite.peak_pressure_bar - bite.trace_peak_pressure_bar);
  if (broken(Guard::trace_agrees, bite.samples_missing == 0 && !(apart <= allowed)))
    findings.push_back({Code::trace_contradicts_press, bite.trace_peak_pressure_bar,
                        bite.peak_pressure_bar - allowed, bite.peak_pressure_bar + allowed});
  return findings;
}

/// Half-squeezed metal springs back and is at its full force again only a little below the gap it was left
/// at.
constexpr double spring_back_mm = 0.1;

/// Force against the envelope at the gaps that this closing reached on metal not squeezed before. What an
/// unfinished bite passed is judged when it ends; what lies below it (by the spring-back) when the bite is
/// made again.
void envelope_findings(const State& state, const BiteFinished& bite, const recipe::JoinedRecipe& joined,
                       Findings& findings) {
  const bool unfinished = bite.fault_code == fault_hands_released;
  const auto envelope = coming_envelope(state, state.edge_mm.value_or(0), joined);
  for (std::size_t i = 0; i < envelope.size(); ++i) {
    if (state.half_pressed_to_mm && envelope[i].gap_mm > *state.half_pressed_to_mm - spring_back_mm) continue;
    if (unfinished && envelope[i].gap_mm < bite.least_gap_mm) continue;
    const recipe::Band band = envelope[i].force_kn;
    const double force_kn = i < bite.force_kn.size() ? bite.force_kn[i] : 0.0;
    if (broken(Guard::envelope_low, !(force_kn >= band.least)))
      findings.push_back({Code::force_below_envelope, force_kn, band.least, band.most});
    if (broken(Guard::envelope_high, !(force_kn <= band.most)))
      findings.push_back({Code::force_above_envelope, force_kn, band.least, band.most});
  }
}

Findings press_work_findings(const BiteFinished& bite, const recipe::Recipe& recipe) {
  Findings findings;
  if (broken(Guard::dies_closed, !(bite.least_gap_mm <= recipe.closed_gap_mm + rounding_mm)))
    findings.push_back({Code::dies_not_closed, bite.least_gap_mm, 0, recipe.closed_gap_mm});
  const recipe::Band peak = recipe.peak_force_kn;
  if (broken(Guard::peak_low, !(bite.peak_force_kn >= peak.least)))
    findings.push_back({Code::peak_force_low, bite.peak_force_kn, peak.least, peak.most});
  if (broken(Guard::peak_high, !(bite.peak_force_kn <= peak.most)))
    findings.push_back({Code::peak_force_high, bite.peak_force_kn, peak.least, peak.most});
  if (broken(Guard::dwell, !(bite.dwell_ms >= recipe.dwell_ms - dwell_counting_ms)))
    findings.push_back({Code::dwell_short, bite.dwell_ms, recipe.dwell_ms, recipe.dwell_ms});
  return findings;
}

}  // namespace

Decision bite_started(const State& last) {
  if (last.stage != Stage::permit_given) return not_this_step(last);
  State state = last;
  state.stage = Stage::biting;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

Decision bite_finished(const State& last, const BiteFinished& bite, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::permit_given && last.stage != Stage::biting) return not_this_step(last);
  if (broken(Guard::own_token, bite.token != last.token)) return hold(last, {{Code::bite_without_permit}});

  Findings findings = trace_findings(bite);
  State state = last;
  state.token = 0;
  if (bite.fault_code == fault_hands_released && findings.empty())
    envelope_findings(last, bite, joined, findings);
  if (broken(Guard::bite_fault, bite.fault_code != 0)) {
    if (bite.fault_code == fault_hands_released && findings.empty()) {
      if (!broken(Guard::repeats_bounded, last.repeats >= joined.recipe.repeat_bites_max)) {
        state.repeats += 1;
        state.half_pressed_to_mm =
            std::min(bite.least_gap_mm, last.half_pressed_to_mm.value_or(bite.least_gap_mm));
        state.stage = Stage::position;
        state.edge_mm.reset();
        return {std::move(state), EntryKind::finding, {{Code::hands_released}}, {}};
      }
      findings.push_back({Code::hands_released});
      findings.push_back({Code::repeats_used_up, static_cast<double>(last.repeats), 0,
                          static_cast<double>(joined.recipe.repeat_bites_max)});
    } else {
      findings.push_back({Code::press_fault_in_bite, static_cast<double>(bite.fault_code)});
    }
    return hold(std::move(state), std::move(findings));
  }
  for (const Finding& finding : press_work_findings(bite, joined.recipe)) findings.push_back(finding);
  if (bite.trace_present && bite.samples_missing == 0) envelope_findings(last, bite, joined, findings);
  if (!findings.empty()) return hold(std::move(state), std::move(findings));

  state.bites_done += 1;
  state.half_pressed_to_mm.reset();
  state.bite += 1;
  state.previous_edge_mm = last.edge_mm;
  state.edge_mm.reset();
  if (state.bite < state.bites_in_pass)
    state.stage = Stage::position;
  else if (state.pass < joined.recipe.passes + state.re_presses)
    state.stage = Stage::turn;
  else
    state.stage = Stage::gauge;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

}  // namespace shankwright::procedure
