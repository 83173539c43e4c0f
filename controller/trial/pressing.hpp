#pragma once
#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "prediction/surface.hpp"
#include "trial/scatter.hpp"

/// One simulated fitting in one simulated press: what the dies do to it, and what the procedure would say.
/// Lengths mm, forces kN, per pass where a list.
namespace shankwright::trial {

/// Curves of all passes over one part, given where earlier passes stopped (prediction::Surface::predict).
using Predictor = std::function<std::vector<prediction::PassCurve>(const prediction::Part&,
                                                                   const std::vector<double>& stop_gaps_mm)>;

/// Why a fitting is not accepted at the first judgement. The first that applies, in the order the procedure
/// meets them.
enum class Cause : std::uint8_t {
  none,
  force_limit,       ///< peak over the force limit: the press opens the dies
  first_not_closed,  ///< gap read above closed_gap in the first pass
  later_not_closed,  ///< the same in a later pass
  outside_envelope,  ///< only when asked for
  over_size,         ///< across flats proven over: re-press
  under_size,        ///< proven under: scrap
  growth_low,
  growth_high,
  size_in_doubt,  ///< within the gauge's uncertainty of a limit
};
inline constexpr std::size_t cause_count = 10;
[[nodiscard]] std::string_view name_of(Cause cause);  ///< for people
[[nodiscard]] std::string_view key_of(Cause cause);   ///< for programs

/// What all fittings of a trial have in common.
struct Bench {
  recipe::JoinedRecipe joined;
  Predictor predict;
  Scatters scatters{};
  std::vector<double> engaged_mm;  ///< length of fresh shank in the bite with the most of it, by pass
  double limit_ratio = 1.12;       ///< force limit over target
  double ceiling_kn = 0;           ///< no force limit above this: die rating, press capacity, press pressure
  bool judge_envelope = false;
};

/// Least of die rating, press capacity and what the press's greatest pressure gives.
[[nodiscard]] double ceiling_kn(const recipe::JoinedRecipe& joined);

/// A bench for a recipe: engaged lengths from the bite plan with the growth of the population's centre part.
[[nodiscard]] Bench bench_of(const recipe::JoinedRecipe& joined, Predictor predict,
                             const prediction::Population& parts);

/// By how much the groove of a die opens across flats under this force per mm: a thick-walled ring (Lame;
/// Timoshenko and Goodier, Theory of Elasticity, article 28, from memory) of steel (210 GPa, 0.3), outer
/// diameter three times the groove, with the mean pressure force / (length * across flats) inside. The shape
/// of real die blocks is not known to a recipe: an assumption.
[[nodiscard]] double die_opening_mm(double force_n_per_mm);

struct Pressed {
  Cause cause = Cause::none;
  bool closed = false;            ///< every pass, as the gap sensor reads it; the rest is 0 when not
  double across_flats_mm = 0;     ///< after release, widest pair over the flats of the last two passes
  double last_flats_mm = 0;       ///< widest pair of the last pass alone
  double narrowest_mm = 0;        ///< narrowest pair of the last pass
  double growth = 0;              ///< after release, of the swage length, as the procedure measures it
  double second_pass_growth = 0;  ///< what the last pass added
};
/// `curves` are those of closed earlier passes; they are predicted anew where a pass stays a little open.
[[nodiscard]] Pressed press(const Bench& bench, const Drawn& drawn,
                            const std::vector<prediction::PassCurve>& curves, double target_kn);

/// Least target force at which all passes of this fitting read as closed.
[[nodiscard]] double target_needed_kn(const Bench& bench, const Drawn& drawn,
                                      const std::vector<prediction::PassCurve>& curves);
/// The same fitting, with seal friction, overshoot and both sensors at the end of their scatter that asks for
/// most.
[[nodiscard]] Drawn press_against(const Scatters& scatters, Drawn drawn);

/// What the pressure reads, as force, for a whole die length of fresh shank at this gap.
[[nodiscard]] double read_force_kn(const Bench& bench, const Drawn& drawn, const prediction::PassCurve& curve,
                                   double gap_mm);

}  // namespace shankwright::trial
