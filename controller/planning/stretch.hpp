#pragma once
#include <string_view>

#include "recipe/model.hpp"

/// How much a rope stretches. Moduli MPa on the metal area C d^2 with the nominal diameter; strains are
/// fractions.
namespace shankwright::planning {

/// Two answers to one question, and which is used. Rope moduli from different sources differ by a tenth to
/// two tenths: the difference is the best measure at hand of how well a rope's own is known.
struct ElasticModulus {
  double taken_mpa = 0;
  std::string_view taken_from;
  double other_mpa = 0;
  std::string_view other_from;
};

/// The rope's own modulus where its file gives one, otherwise a rope maker's stretch factor G for the
/// construction (stretch in percent = W G / D^2, W in lbf, D in inches), which is E A / d^2 = 100 / G.
/// The other source is EN 1993-1-11 (values from memory). Stainless where the material says so, else steel.
[[nodiscard]] ElasticModulus elastic_modulus(const recipe::Rope& rope);

/// tension / (E C d^2).
[[nodiscard]] double elastic_strain(const recipe::Rope& rope, double tension_kn, double modulus_mpa);

/// What a rope that is not prestretched is taken to lengthen for good when first loaded: "under 1 %" of small
/// wire rope and strand, says a rope maker.
inline constexpr recipe::Band constructional_stretch_usual{0, 0.01};

}  // namespace shankwright::planning
