#pragma once
#include <optional>
#include <string>
#include <vector>

#include "prediction/part.hpp"

/// What a recipe's bites will need and do on the press at hand, before any part is made: forces with their
/// margins, across flats and growth after each pass, and plain warnings. Computed for the middle of the
/// tolerances and for the strongest and weakest plausible part. Units as named; forces of whole bites in kN.
namespace shankwright::prediction {

/// Faces closed on one part, after one pass. across_flats_mm is of this pass's pairs; earlier_flats_mm of the
/// pairs of the pass before, which the rope bulges again.
struct PassForecast {
  int pass = 1;
  double touch_gap_mm = 0;
  double closing_force_n_per_mm = 0;  ///< per mm of present shank length, faces met
  double die_pressure_mpa = 0;        ///< mean on the faces, faces met
  double growth = 0;                  ///< after release, of the original length, all passes so far
  double across_flats_mm = 0;         ///< after release, with the dies' own stretch
  double earlier_flats_mm = 0;        ///< 0 in pass 1
  double spring_back_mm = 0, die_stretch_mm = 0;
  double flash_mm = 0;      ///< metal past the dies' corner at the parting line, each side
  double rope_packing = 0;  ///< metal over bore area, after release
  double voids_closed = 0;  ///< share of the rope's own voids that are gone: 0 loose, 1 solid metal
};

struct BiteForecast {
  int pass = 1;
  int bite = 1;             ///< from the bore end
  double edge_mm = 0;       ///< die edge to bore end, positive toward the mouth
  double fresh_mm = 0;      ///< length this bite squeezes first
  double under_die_mm = 0;  ///< that, and what it laps of the bite before
  double typical_kn = 0;    ///< to close the faces
  double strongest_kn = 0;
};

struct Margin {
  std::string of;  ///< what sets the limit
  double limit_kn = 0;
  double share = 0;  ///< of the limit that the recipe's target leaves free
};

enum class Caution : std::uint8_t {
  die_leaves_shank,      ///< dies no smaller than the shank: nothing is squeezed
  rope_loose_in_bore,    ///< rope much thinner than the bore
  rope_too_thick,        ///< thickest accepted rope does not enter the bore
  rope_not_gripped,      ///< too few of the rope's voids close
  rope_overfills,        ///< more metal than the closed bore wants
  flash,                 ///< metal pressed out at the parting line
  growth_outside,        ///< against the recipe's band
  across_flats_outside,  ///< against the recipe's band
  die_overloaded,        ///< force per mm of die beyond its rating
  little_margin,         ///< less than 15 % of press capacity left
  target_too_low,        ///< below what the strongest plausible part needs to close
  limit_too_low,         ///< force limit below it
  no_bite_plan,          ///< no plan keeps die edges and overlaps
};

struct Warning {
  Caution caution = Caution::no_bite_plan;
  std::string text;  ///< with figures, for a person
};

struct RecipePlan {
  Part typical, strongest, weakest;
  std::vector<PassForecast> passes, passes_strongest, passes_weakest;
  std::vector<PassForecast> passes_gripped;  ///< of the strongest part, were its rope gripped from the first
                                             ///< contact on (empty, 0: beyond the model)
  std::vector<BiteForecast> bites;
  double needed_kn =
      0;  ///< least force that closes the dies on the strongest plausible part, with allowance_share
  double needed_typical_kn = 0;
  double needed_gripped_kn = 0;  ///< were the rope gripped from the first contact on
  double allowance_share = 0;    ///< for seal friction and the pressure sensor
  double target_kn = 0;          ///< the recipe's
  double target_bar = 0;         ///< on this press
  double needed_bar = 0;
  std::vector<Margin> margins;  ///< narrowest first
  std::vector<Warning> warnings;
};

/// The strongest plausible part: shank and rope at their thickest, bore at its tightest, strong metal, high
/// friction, grip at its upper end, new dies; the weakest the other way round with a sliding rope.
[[nodiscard]] Part strongest_part(const recipe::JoinedRecipe& joined);
[[nodiscard]] Part weakest_part(const recipe::JoinedRecipe& joined);

/// A Problem when the dimensions are out of the model's limits. About two seconds on two threads.
[[nodiscard]] Result<RecipePlan> plan_recipe(const recipe::JoinedRecipe& joined, unsigned threads,
                                             mechanics::Fineness fineness = mechanics::Fineness::standard);

}  // namespace shankwright::prediction
