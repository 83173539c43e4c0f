#include "trial/pressing.hpp"

#include <algorithm>
#include <array>

#include "trial/engaged.hpp"

namespace shankwright::trial {
namespace {

using prediction::Input;
using prediction::PassCurve;

struct Word {
  std::string_view key, name;
};
/// By cause.
constexpr std::array<Word, cause_count> words{{
    {"none", "accepted"},
    {"force_limit", "over force limit"},
    {"first_not_closed", "1st pass open"},
    {"later_not_closed", "2nd pass open"},
    {"outside_envelope", "outside envelope"},
    {"over_size", "over size"},
    {"under_size", "under size"},
    {"growth_low", "too little growth"},
    {"growth_high", "too much growth"},
    {"size_in_doubt", "size in doubt"},
}};

/// Force that reaches the dies when the pressure reads this force.
double at_dies_kn(const Drawn& drawn, double read_kn) {
  return read_kn / (1 + drawn[PressInput::pressure_sensor]) * (1 - drawn[PressInput::seal_friction]);
}
double as_read_kn(const Drawn& drawn, double dies_kn) {
  return dies_kn / (1 - drawn[PressInput::seal_friction]) * (1 + drawn[PressInput::pressure_sensor]);
}

bool envelope_holds(const Bench& bench, const Drawn& drawn, const std::vector<PassCurve>& curves) {
  const auto& passes = bench.joined.recipe.envelope;
  for (std::size_t p = 0; p < curves.size() && p < passes.size(); ++p) {
    for (const auto& point : passes[p])
      if (!point.force_kn.holds(read_force_kn(bench, drawn, curves[p], point.gap_mm))) return false;
  }
  return true;
}

/// The procedure's decision on size, growth and doubt, in its order (controller/procedure/gauging.cpp).
Cause judge(const Bench& bench, const Drawn& drawn, const Pressed& pressed) {
  const recipe::Recipe& recipe = bench.joined.recipe;
  const recipe::Band band = recipe.across_flats_mm;
  const double guard_mm = size_uncertainty_mm(bench.joined);
  const double most = pressed.across_flats_mm + drawn[PressInput::size_gauge];
  const double least = pressed.narrowest_mm + drawn[PressInput::size_gauge];
  if (least < band.least - guard_mm) return Cause::under_size;
  if (most > band.most + guard_mm) return Cause::over_size;
  if (pressed.growth < recipe.growth_fraction.least) return Cause::growth_low;
  if (pressed.growth > recipe.growth_fraction.most) return Cause::growth_high;
  if (least < band.least + guard_mm || most > band.most - guard_mm) return Cause::size_in_doubt;
  return Cause::none;
}

}  // namespace

std::string_view name_of(Cause cause) {
  return words.at(static_cast<std::size_t>(cause)).name;
}
std::string_view key_of(Cause cause) {
  return words.at(static_cast<std::size_t>(cause)).key;
}

double ceiling_kn(const recipe::JoinedRecipe& joined) {
  const double pressure_kn = joined.press.pressure_max_bar * joined.press.ram_area_mm2 / 1e4;
  return std::min({joined.die_pair.rated_force_kn, joined.press.capacity_kn, pressure_kn});
}

double die_opening_mm(double force_n_per_mm) {
  constexpr double young_mpa = 210000, poisson = 0.3, ratio = 3;
  constexpr double lame = (ratio * ratio + 1) / (ratio * ratio - 1) + poisson;
  return lame * force_n_per_mm / young_mpa;  // pressure = force / across flats, so across flats cancels
}

Bench bench_of(const recipe::JoinedRecipe& joined, Predictor predict, const prediction::Population& parts) {
  Bench bench;
  bench.joined = joined;
  bench.predict = std::move(predict);
  bench.scatters = scatters_of(joined, parts);
  bench.ceiling_kn = ceiling_kn(joined);
  const recipe::Recipe& recipe = joined.recipe;
  if (recipe.target_force_kn > 0)
    bench.limit_ratio = std::clamp(recipe.force_limit_kn / recipe.target_force_kn, 1.08, 1.3);
  double before = 0;
  for (const PassCurve& curve : bench.predict(parts.centre(), {})) {
    const double after = curve.growth_at(0);
    bench.engaged_mm.push_back(most_engaged_mm(joined, before, after));
    before = after - curve.growth_recoil;
  }
  return bench;
}

double read_force_kn(const Bench& bench, const Drawn& drawn, const PassCurve& curve, double gap_mm) {
  // An expansion may dip below nothing just after first contact.
  return as_read_kn(drawn, std::max(0., curve.force_at(gap_mm)) * bench.joined.die_pair.length_mm / 1000);
}

Pressed press(const Bench& bench, const Drawn& drawn, const std::vector<PassCurve>& closed_curves,
              double target_kn) {
  Pressed out;
  const recipe::Recipe& recipe = bench.joined.recipe;
  const double peak_kn = target_kn * (1 + drawn[PressInput::overshoot]);
  const bool over_limit = peak_kn > std::min(target_kn * bench.limit_ratio, bench.ceiling_kn);
  const double dies_n = at_dies_kn(drawn, peak_kn) * 1000;

  std::vector<PassCurve> anew;
  const std::vector<PassCurve>* curves = &closed_curves;
  std::vector<double> stops_mm;
  double growth = 0, earlier_growth = 0, opening_mm = 0, earlier_opening_mm = 0;
  for (std::size_t p = 0; p < curves->size(); ++p) {
    const PassCurve& curve = (*curves)[p];
    const double force_n_per_mm = dies_n / bench.engaged_mm[p];
    const double gap_mm = curve.gap_at(force_n_per_mm);
    stops_mm.push_back(gap_mm);
    if (std::max(0., gap_mm + drawn[PressInput::gap_sensor]) > recipe.closed_gap_mm) {
      out = {};
      out.cause = over_limit ? Cause::force_limit
                  : p == 0   ? Cause::first_not_closed
                             : Cause::later_not_closed;
      return out;
    }
    earlier_growth = growth;
    growth = curve.growth_at(gap_mm) - curve.growth_recoil;
    earlier_opening_mm = opening_mm;
    opening_mm = die_opening_mm(curve.force_at(gap_mm));
    const double base_mm = drawn.part()[Input::across_flats] + gap_mm + curve.base_recoil_mm + opening_mm;
    out.across_flats_mm = base_mm;
    out.narrowest_mm = base_mm;
    if (bench.joined.die_pair.shape == recipe::DieShape::hexagon) {
      const double side_mm =
          drawn.part()[Input::across_flats] + gap_mm / 2 + curve.side_recoil_mm + opening_mm;
      out.across_flats_mm = std::max(base_mm, side_mm);
      out.narrowest_mm = std::min(base_mm, side_mm);
    }
    out.last_flats_mm = out.across_flats_mm;
    if (p > 0)
      out.across_flats_mm = std::max(out.across_flats_mm, curve.earlier_flats_mm + earlier_opening_mm);
    if (gap_mm > 0 && p + 1 < curves->size()) {
      anew = bench.predict(drawn.part(), stops_mm);
      curves = &anew;
    }
  }
  out.closed = true;
  const double share = pressed_share(bench.joined);
  out.growth = growth * share;
  out.second_pass_growth = (growth - earlier_growth) * share;
  if (over_limit)
    out.cause = Cause::force_limit;
  else if (bench.judge_envelope && !envelope_holds(bench, drawn, *curves))
    out.cause = Cause::outside_envelope;
  else
    out.cause = judge(bench, drawn, out);
  return out;
}

double target_needed_kn(const Bench& bench, const Drawn& drawn, const std::vector<PassCurve>& curves) {
  const double gap_mm = std::max(0., bench.joined.recipe.closed_gap_mm - drawn[PressInput::gap_sensor]);
  double most_kn = 0;
  for (std::size_t p = 0; p < curves.size(); ++p)
    most_kn = std::max(most_kn, curves[p].force_at(gap_mm) * bench.engaged_mm[p] / 1000);
  return as_read_kn(drawn, most_kn) / (1 + drawn[PressInput::overshoot]);
}

Drawn press_against(const Scatters& scatters, Drawn drawn) {
  const auto set = [&](PressInput input, double side) {
    const auto& scatter = scatters[index_of(input)];
    drawn.values[index_of(input)] = scatter.centre + side * scatter.half_width;
  };
  set(PressInput::pressure_sensor, 1);  // reads too much: less reaches the dies
  set(PressInput::seal_friction, 1);
  set(PressInput::overshoot, -1);
  set(PressInput::gap_sensor, 1);
  return drawn;
}

}  // namespace shankwright::trial
