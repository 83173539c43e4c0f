#pragma once
#include <optional>
#include <string>
#include <vector>

#include "diagnosis/diagnose.hpp"
#include "diagnosis/place.hpp"
#include "library/library.hpp"
#include "pressed_bites.hpp"

/// Simulated fittings with one thing wrong, of the sizes that count as faults
/// (controller/diagnosis/README.md).
namespace shankwright::tests {

struct FaultKind {
  diagnosis::Hypothesis truth = diagnosis::Hypothesis::good;
  std::string name;
  /// Sizes drawn evenly between these; 0 and 0 where there is none.
  double least = 0, most = 0;
};

/// Every kind tried on this recipe.
[[nodiscard]] std::vector<FaultKind> fault_kinds(const recipe::JoinedRecipe& joined);

/// Across flats of the shop's other hexagonal pairs.
[[nodiscard]] std::vector<double> other_dies_mm(const library::Library& library,
                                                const recipe::JoinedRecipe& joined);

/// What is wrong when this kind has this size (0 to 1 between its least and most).
[[nodiscard]] Wrong wrong_of(const FaultKind& kind, double share, const recipe::JoinedRecipe& joined,
                             const std::vector<double>& dies_mm);

/// The bite as the diagnosis gets it. None when the trace cannot be read.
[[nodiscard]] std::optional<diagnosis::TracedBite> traced(const PressedBite& bite,
                                                          const recipe::JoinedRecipe& joined);

}  // namespace shankwright::tests
