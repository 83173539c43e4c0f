#pragma once
#include <string>

#include "trial/report.hpp"

/// A revision of the recipe with the forces and growth that a trial found. A draft: it admits no fitting
/// until a person has tried it on real parts and released it.
namespace shankwright::trial {

/// Gaps at which a draft's envelope is judged, by pass, falling: the recipe's own, or where it has none,
/// shares of the centre part's first contact.
[[nodiscard]] std::vector<std::vector<double>> envelope_gaps_mm(const Bench& bench);

/// Keeps all else of the recipe. Needs a window that is not empty. Bands are rounded outward; the envelope
/// never asks for more than the target force, where the press stops.
[[nodiscard]] recipe::Recipe draft_of(const Report& report, std::uint32_t revision);

/// The recipe as a file of the library, as recipes/README.md says.
[[nodiscard]] std::string to_yaml(const recipe::Recipe& recipe);

}  // namespace shankwright::trial
