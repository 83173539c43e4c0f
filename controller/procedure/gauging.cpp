#include <algorithm>
#include <cmath>
#include <limits>

#include "procedure/guard.hpp"
#include "procedure/steps.hpp"

namespace shankwright::procedure {

std::optional<double> growth_fraction(const State& state, double swage_length_mm) {
  if (!state.grown_mouth_mm || !state.boundary_mark_mm || !(swage_length_mm > 0)) return std::nullopt;
  return (*state.grown_mouth_mm - *state.boundary_mark_mm) / swage_length_mm;
}

std::optional<double> slip_mm(const State& state) {
  if (!state.slipped_mark_mm || !state.insertion_mm || !state.grown_mouth_mm || !state.boundary_mark_mm)
    return std::nullopt;
  const double grown_mm = *state.grown_mouth_mm - *state.boundary_mark_mm;
  return *state.slipped_mark_mm - (*state.insertion_mm - grown_mm);
}

namespace {

/// A gauging reading is evidence whether it is good or bad; only a gauge that cannot be trusted is refused.
template <typename Take>
Decision take_reading(const State& last, const Tool& tool, Take take) {
  if (last.stage != Stage::gauge) return not_this_step(last);
  Findings findings = tool_findings(tool);
  if (!findings.empty()) return refuse(last, std::move(findings));
  State state = last;
  take(state);
  return {std::move(state), EntryKind::evidence, {}, {}};
}

enum class Size : std::uint8_t { proven_inside, proven_over, proven_under, over_and_under, not_proven };

/// Decision rule: inside is proven only at least U away from both limits, outside only at least U beyond one
/// of them (ILAC-G8:09/2019, 4.2.3 with guard band w = U; ISO 14253-1 in the same sense, from memory).
Size size_of(const State& state, const recipe::Band& band) {
  const double least = state.across_flats_least_mm.value_or(0);
  const double most = state.across_flats_most_mm.value_or(0);
  const double guard_band = state.across_flats_uncertainty_mm;
  const bool over = broken(Guard::across_flats_over, most > band.most + guard_band + rounding_mm);
  const bool under = broken(Guard::across_flats_under, least < band.least - guard_band - rounding_mm);
  if (over && under) return Size::over_and_under;
  if (over) return Size::proven_over;
  if (under) return Size::proven_under;
  const bool inside =
      least >= band.least + guard_band - rounding_mm && most <= band.most - guard_band + rounding_mm;
  return broken(Guard::guard_band, !inside) ? Size::not_proven : Size::proven_inside;
}

Findings missing_readings(const State& state) {
  const bool all = state.go != Limit::not_tried && state.no_go != Limit::not_tried &&
                   state.across_flats_least_mm && state.across_flats_most_mm && state.grown_mouth_mm &&
                   state.slipped_mark_mm && state.straightness_mm && state.surface != Surface::not_looked_at;
  if (broken(Guard::gauging_complete, !all)) return {{Code::gauging_incomplete}};
  return {};
}

/// Go and no-go against the measured size: both are read on the same shank and cannot both be right if they
/// differ.
Findings contradictions(const State& state, Size size) {
  const bool go_passes = state.go == Limit::passes;
  const bool no_go_passes = state.no_go == Limit::passes;
  const bool over = size == Size::proven_over || size == Size::over_and_under;
  const bool go_wrong =
      (go_passes && over) || (!go_passes && (size == Size::proven_inside || size == Size::proven_under));
  // A no-go gap passes over a shank only when every section is below the lower limit, so one thin section
  // with the gauge stopping elsewhere is no contradiction.
  const bool no_go_wrong = no_go_passes && (size == Size::proven_inside || over);
  const bool impossible = no_go_passes && !go_passes;  // passes the smaller gap, stops at the larger
  Findings findings;
  if (broken(Guard::go_contradicts, go_wrong) || broken(Guard::no_go_contradicts, no_go_wrong || impossible))
    findings.push_back({Code::gauges_contradict_measurement, state.across_flats_most_mm.value_or(0)});
  return findings;
}

Findings unfit(const State& state, const recipe::Recipe& recipe) {
  Findings findings;
  if (on(Guard::surface)) {
    if (state.surface == Surface::cracked) findings.push_back({Code::surface_cracked});
    if (state.surface == Surface::lapped) findings.push_back({Code::surface_lapped});
    if (state.surface == Surface::wires_broken) findings.push_back({Code::wires_broken});
  }
  const double bend_mm = state.straightness_mm.value_or(0);
  if (broken(Guard::straight, !(bend_mm <= recipe.straightness_mm_max + rounding_mm)))
    findings.push_back({Code::bent, bend_mm, 0, recipe.straightness_mm_max});
  const double slipped_mm = slip_mm(state).value_or(0);
  if (broken(Guard::slip, !(std::abs(slipped_mm) <= recipe.slip_mm_max + rounding_mm)))
    findings.push_back({Code::slipped, slipped_mm, -recipe.slip_mm_max, recipe.slip_mm_max});
  return findings;
}

Decision re_press(State state, Findings findings) {
  state.re_presses += 1;
  state.stage = Stage::turn;
  state.across_flats_least_mm.reset();
  state.across_flats_most_mm.reset();
  state.across_flats_uncertainty_mm = 0;
  state.go = state.no_go = Limit::not_tried;
  state.grown_mouth_mm.reset();
  state.slipped_mark_mm.reset();
  state.straightness_mm.reset();
  state.surface = Surface::not_looked_at;
  state.reseat_needed = true;  // it was out of the dies to be gauged
  return {std::move(state), EntryKind::finding, std::move(findings), {}};
}

}  // namespace

Decision scrap(State state, Findings findings) {
  state.stage = Stage::scrapped;
  state.standing = findings;
  return {std::move(state), EntryKind::verdict, std::move(findings), {}};
}

Decision across_flats(const State& last, const AcrossFlats& reading, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::gauge) return not_this_step(last);
  const auto wanted = static_cast<std::size_t>(std::max(1, joined.recipe.across_flats_stations));
  if (reading.stations_mm.size() < wanted)
    return refuse(last, {{Code::too_few_readings, static_cast<double>(reading.stations_mm.size()),
                          static_cast<double>(wanted), static_cast<double>(wanted)}});
  return take_reading(last, reading.tool, [&](State& state) {
    double least = std::numeric_limits<double>::infinity(), most = 0;
    for (const auto& station : reading.stations_mm) {
      const auto [low, high] = std::minmax_element(station.begin(), station.end());
      least = std::min(least, *low);
      most = std::max(most, *high);
    }
    state.across_flats_least_mm = least;
    state.across_flats_most_mm = most;
    state.across_flats_uncertainty_mm = reading.tool.expanded_uncertainty_mm;
  });
}

Decision go_gauge(const State& last, const GoGauge& reading) {
  if (reading.result == Limit::not_tried) return refuse(last, {{Code::gauging_incomplete}});
  return take_reading(last, reading.tool, [&](State& state) { state.go = reading.result; });
}

Decision no_go_gauge(const State& last, const NoGoGauge& reading) {
  if (reading.result == Limit::not_tried) return refuse(last, {{Code::gauging_incomplete}});
  return take_reading(last, reading.tool, [&](State& state) { state.no_go = reading.result; });
}

Decision growth(const State& last, const Growth& reading) {
  return take_reading(last, reading.tool, [&](State& state) {
    state.grown_mouth_mm = reading.boundary_to_mouth_mm;
    state.slipped_mark_mm.reset();  // slip is judged against where the mouth is; a new mouth wants a new look
  });
}

Decision straightness(const State& last, const Straightness& reading) {
  return take_reading(last, reading.tool, [&](State& state) { state.straightness_mm = reading.value_mm; });
}

Decision slip(const State& last, const Slip& reading) {
  return take_reading(last, reading.tool,
                      [&](State& state) { state.slipped_mark_mm = reading.mark_to_mouth_mm; });
}

Decision surface_seen(const State& last, const SurfaceSeen& seen) {
  if (last.stage != Stage::gauge) return not_this_step(last);
  if (seen.surface == Surface::not_looked_at) return refuse(last, {{Code::gauging_incomplete}});
  State state = last;
  state.surface = seen.surface;
  return {std::move(state), EntryKind::evidence, {}, {}};
}

Decision judge(const State& last, const recipe::JoinedRecipe& joined) {
  if (last.stage != Stage::gauge) return not_this_step(last);
  Findings missing = missing_readings(last);
  if (!missing.empty()) return refuse(last, std::move(missing));
  const recipe::Recipe& recipe = joined.recipe;
  const recipe::Band band = recipe.across_flats_mm;
  const Size size = size_of(last, band);
  const Finding over{Code::across_flats_over, last.across_flats_most_mm.value_or(0), band.least, band.most};
  const Finding under{Code::across_flats_under, last.across_flats_least_mm.value_or(0), band.least,
                      band.most};

  // Strongest first: unfit for use whatever its size; evidence that contradicts itself; size; expectation;
  // doubt.
  if (Findings findings = unfit(last, recipe); !findings.empty()) return scrap(last, std::move(findings));
  if (Findings findings = contradictions(last, size); !findings.empty())
    return hold(last, std::move(findings));
  if (size == Size::over_and_under) return scrap(last, {over, under});
  if (size == Size::proven_under || broken(Guard::no_go_contradicts, last.no_go == Limit::passes))
    return scrap(last, {under, {Code::no_go_passes}});
  if (size == Size::proven_over || broken(Guard::go_contradicts, last.go == Limit::stops)) {
    Findings findings{over};
    if (last.go == Limit::stops) findings.push_back({Code::go_does_not_pass});
    if (!broken(Guard::re_presses_bounded, last.re_presses >= recipe.re_presses_max))
      return re_press(last, std::move(findings));
    findings.push_back({Code::re_presses_used_up, static_cast<double>(last.re_presses), 0,
                        static_cast<double>(recipe.re_presses_max)});
    return scrap(last, std::move(findings));
  }
  const double grown = growth_fraction(last, joined.terminal.swage_length_mm).value_or(0);
  if (broken(Guard::growth_low, !(grown >= recipe.growth_fraction.least)))
    return hold(last, {{Code::growth_low, grown, recipe.growth_fraction.least, recipe.growth_fraction.most}});
  if (broken(Guard::growth_high, !(grown <= recipe.growth_fraction.most)))
    return hold(last,
                {{Code::growth_high, grown, recipe.growth_fraction.least, recipe.growth_fraction.most}});
  if (size == Size::not_proven)
    return hold(last, {{Code::across_flats_in_guard_band, last.across_flats_most_mm.value_or(0), band.least,
                        band.most}});
  State state = last;
  state.stage = Stage::accepted;
  return {std::move(state), EntryKind::verdict, {}, {}};
}

}  // namespace shankwright::procedure
