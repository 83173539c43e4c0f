#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "ports/ports.hpp"
#include "recipe/model.hpp"
#include "simulators/bench/bench.hpp"
#include "simulators/plant/plant.hpp"

/// Bites of the simulated press as the record would keep them: plant, bench and sensors in virtual time,
/// without network or station. The simulated section is not the controller's: see simulators/README.md.
namespace shankwright::tests {

/// What is unlike the recipe in one simulated fitting. The default is a good one.
struct Wrong {
  bench::PartWish part;
  std::optional<double> metal_share;      ///< of the recipe's rope
  std::optional<double> across_flats_mm;  ///< of the mounted dies
  double edge_off_mm = 0;                 ///< die placed that much further onto the solid (negative)
  plant::Faults press;
  double frame_share = 1;    ///< stretch of the frame over a sound one's
  double gap_mm_per_mn = 0;  ///< the reading moves with force: a bent frame. Added to the samples
};

/// One bite and what the station knows of its place.
struct PressedBite {
  int pass = 1, bite = 0;
  double edge_mm = 0;        ///< as read
  double bore_depth_mm = 0;  ///< as read
  std::optional<double> previous_edge_mm;
  int bites_in_pass = 1;
  std::vector<ports::Sample> trace;
};

/// All bites of a fitting, in order; from one seed always the same.
[[nodiscard]] std::vector<PressedBite> press_fitting(const recipe::JoinedRecipe& joined, const Wrong& wrong,
                                                     std::uint64_t seed);

}  // namespace shankwright::tests
