#pragma once
#include <array>

#include "planning/job.hpp"

/// The length to cut, as one formula. Lengths mm.
///
///   C = (L - sum(D + G)) / ((1 + e)(1 + c)) + sum(I + (1 - s) G)
///
/// L pin to pin at the stated tension, D pin to mouth before swaging, G growth of the shank, e elastic
/// strain, c constructional stretch, I rope inside the bore before swaging, s growth share. What it rests on
/// is in README.md.
namespace shankwright::planning {

struct EndLengths {
  double deduction_mm = 0;  ///< D
  double insertion_mm = 0;  ///< I
  double growth_mm = 0;     ///< G
  double growth_share = 0;  ///< s
};

struct CutInputs {
  double pin_to_pin_mm = 0;
  std::array<EndLengths, 2> ends;
  double elastic_strain = 0;
  double constructional_stretch = 0;
};

/// Rope between the mouths after swaging: at the stated tension and worn in, and at rest as it comes off the
/// reel.
[[nodiscard]] double free_rope_under_tension_mm(const CutInputs& inputs);
[[nodiscard]] double free_rope_at_rest_mm(const CutInputs& inputs);
/// Rope that ends up inside one end.
[[nodiscard]] double rope_inside_mm(const EndLengths& end);

[[nodiscard]] double cut_length_mm(const CutInputs& inputs);

/// The default growth share: 0, the premise slip is gauged by (procedure/state.hpp, slip_mm): the rope's end
/// stays at the bore end. At most half the shank that the first bite works, as a share of the swage length:
/// there the rope is free to slide, and by symmetry would stand still against the bite's middle. Every later
/// bite finds the rope held by the one before, so its growth goes to the mouth.
[[nodiscard]] GrowthShare default_growth_share(const recipe::JoinedRecipe& joined);

}  // namespace shankwright::planning
