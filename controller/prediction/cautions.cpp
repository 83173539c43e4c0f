#include "prediction/cautions.hpp"

#include <algorithm>

#include "quantity/quantity.hpp"

namespace shankwright::prediction {
namespace {

using quantity::print;

/// Rules of thumb of ours (no source): the handbook's straight-shank terminals have ropes of 80 to 96 % of
/// their bore, and the model closes 30 to 60 % of the voids of ropes that fit.
constexpr double loose_share_of_bore = 0.76;
constexpr double voids_closed_least = 0.15;
constexpr double voids_closed_most = 0.85;
constexpr double packing_most = 0.95;
constexpr double capacity_margin_wanted = 0.15;

std::string percent(double share, int decimals = 1) {
  return print(100 * share, "%", decimals);
}

}  // namespace

Warning caution_die_leaves_shank(const recipe::JoinedRecipe& joined) {
  return {Caution::die_leaves_shank,
          "dies of " + print(joined.die_pair.across_flats_mm, "mm", 2) + " across flats leave a shank of " +
              print(joined.terminal.shank_diameter_mm.least, "mm", 2) + " as it is: nothing is squeezed"};
}

std::vector<Warning> cautions_of(const recipe::JoinedRecipe& joined, const RecipePlan& plan) {
  std::vector<Warning> out;
  const auto warn = [&](Caution caution, std::string text) { out.push_back({caution, std::move(text)}); };
  const recipe::Recipe& r = joined.recipe;
  const double bore = joined.terminal.bore_diameter_mm;
  const auto& rope = joined.rope.diameter_mm;
  if (plan.bites.empty())
    warn(Caution::no_bite_plan,
         "no set of bites keeps the die edges off the bore end and overlaps as the recipe asks");
  if (rope.most > bore)
    warn(Caution::rope_too_thick, "the thickest rope accepted, " + print(rope.most, "mm", 2) +
                                      ", does not enter the bore of " + print(bore, "mm", 2));
  if (rope.least < loose_share_of_bore * bore)
    warn(Caution::rope_loose_in_bore, "a rope of " + print(rope.least, "mm", 2) + " is only " +
                                          percent(rope.least / bore, 0) +
                                          " of the bore: is this the terminal for it? (" +
                                          percent(loose_share_of_bore, 0) + " or more is usual)");
  const PassForecast& weakest = plan.passes_weakest.back();
  const PassForecast& strongest = plan.passes_strongest.back();
  if (weakest.voids_closed < voids_closed_least)
    warn(Caution::rope_not_gripped, "on the loosest accepted parts the dies close only " +
                                        percent(weakest.voids_closed, 0) +
                                        " of the rope's voids: the rope may not be gripped; dies too large, "
                                        "bore too large, or a softer construction than "
                                        "the terminal is meant for");
  if (strongest.voids_closed > voids_closed_most || strongest.rope_packing > packing_most)
    warn(Caution::rope_overfills,
         "on the tightest accepted parts " + percent(strongest.voids_closed, 0) +
             " of the rope's voids close: more rope metal than this bore and die want; construction "
             "denser than the terminal is meant for");
  double flash = 0;
  for (const PassForecast& pass : plan.passes_strongest) flash = std::max(flash, pass.flash_mm);
  if (joined.die_pair.shape == recipe::DieShape::hexagon && flash > 0.05)
    warn(Caution::flash,
         "metal may be pressed out at the parting line, up to " + print(flash, "mm", 2) +
             " on each side: it laps when the shank is turned; dies too small for this shank");
  const auto beyond = [](double value, const recipe::Band& band) {
    return value < band.least || value > band.most;
  };
  const PassForecast& typical = plan.passes.back();
  const double widest_mm = std::max(typical.across_flats_mm, typical.earlier_flats_mm);
  const double narrowest_mm = typical.earlier_flats_mm > 0
                                  ? std::min(typical.across_flats_mm, typical.earlier_flats_mm)
                                  : typical.across_flats_mm;
  if (beyond(typical.growth, r.growth_fraction))
    warn(Caution::growth_outside, "predicted growth " + percent(typical.growth) +
                                      " lies outside the recipe's " + percent(r.growth_fraction.least) +
                                      " to " + percent(r.growth_fraction.most));
  if (widest_mm > r.across_flats_mm.most || narrowest_mm < r.across_flats_mm.least)
    warn(Caution::across_flats_outside, "predicted across flats " + print(narrowest_mm, "mm", 3) + " to " +
                                            print(widest_mm, "mm", 3) + " lie outside the recipe's " +
                                            print(r.across_flats_mm.least, "mm", 3) + " to " +
                                            print(r.across_flats_mm.most, "mm", 3));
  double per_mm = 0;
  for (const PassForecast& pass : plan.passes_strongest)
    per_mm = std::max(per_mm, pass.closing_force_n_per_mm);
  const double rated_per_mm = joined.die_pair.rated_force_kn * 1000 / joined.die_pair.length_mm;
  if (per_mm > rated_per_mm)
    warn(Caution::die_overloaded,
         "the strongest plausible part loads the dies with " + print(per_mm / 1000, "kN", 2) +
             " per mm; their rating over their length is " + print(rated_per_mm / 1000, "kN", 2) + " per mm");
  for (const Margin& margin : plan.margins)
    if (margin.of.starts_with("press") && margin.share < capacity_margin_wanted) {
      warn(Caution::little_margin, "the target leaves " + percent(margin.share) + " of the " + margin.of +
                                       " (" + print(margin.limit_kn, "kN", 0) + "); " +
                                       percent(capacity_margin_wanted, 0) + " or more is wanted");
      break;
    }
  if (r.force_limit_kn < plan.needed_kn)
    warn(Caution::limit_too_low,
         "the force limit of " + print(r.force_limit_kn, "kN", 0) +
             " may open the dies before they close on the strongest plausible part, which needs " +
             print(plan.needed_kn, "kN", 0));
  if (plan.target_kn < plan.needed_kn)
    warn(Caution::target_too_low,
         "the target of " + print(plan.target_kn, "kN", 0) +
             " may not close the dies on the strongest plausible part, which needs " +
             print(plan.needed_kn, "kN", 0) + " (all tolerances against the press)");
  return out;
}

}  // namespace shankwright::prediction
