#pragma once
#include "library/library.hpp"
#include "trial/run.hpp"

/// A trial over a section whose answers are plain formulas, so that a test can say what must come out and
/// runs in a moment. Demo data.
namespace shankwright::trial::tests {

/// straight-shank-3-16-7x19 of the shipped library, with the growth and forces the formulas below give.
[[nodiscard]] recipe::JoinedRecipe a_recipe();

/// Both passes: force rises straight from first contact at 1 mm to closing force * strength * (1 + friction
/// off 0.10), growth to 20 % (pass 1: 15 %), recoil 0.03 mm on every flat.
struct Formulas {
  double closing_n_per_mm = 6000;  ///< of the first pass; the second takes nine tenths of it
  double recoil_mm = 0.03;
};
[[nodiscard]] Predictor predictor(Formulas formulas = {});

/// A bench and a request over the shipped tolerances.
[[nodiscard]] Request a_request(Formulas formulas = {});

}  // namespace shankwright::trial::tests
