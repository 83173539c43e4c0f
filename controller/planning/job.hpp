#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "recipe/model.hpp"

/// A planner's job as read and checked: assemblies of a rope between two ends. Lengths mm, forces kN, shares
/// as fractions.
namespace shankwright::planning {

enum class EndMaking : std::uint8_t { swaged, hand_fitted, made_elsewhere };

/// Share of a shank's growth that lengthens the assembly: 0 where the rope's end stays at the bore end (the
/// mouth grows outward over the rope), 1 where the rope stays with the mouth.
struct GrowthShare {
  double least = 0;
  double taken = 0;
  double most = 1;
  bool operator==(const GrowthShare&) const = default;
};

struct End {
  EndMaking making = EndMaking::swaged;
  // Of a swaged end.
  std::string recipe;                              ///< id
  std::optional<std::string> terminal, die_pair;   ///< ids the job restates, only to be checked
  std::optional<recipe::Band> pin_to_bore_end_mm;  ///< the job's own in place of the terminal's
  std::optional<GrowthShare> growth_share;         ///< the shop's own in place of the default
  // Of any other end, said by the job.
  std::string what;
  double deduction_mm = 0;    ///< pin to where the rope enters
  double insertion_mm = 0;    ///< rope beyond there
  double uncertainty_mm = 0;  ///< of both together, coverage factor 2
  std::string source;
  bool operator==(const End&) const = default;
};

struct Assembly {
  std::string mark;  ///< what stands on the piece's tag
  std::uint32_t quantity = 0;
  std::string rope;          ///< id
  double pin_to_pin_mm = 0;  ///< at the stated tension, worn in
  double tension_kn = 0;
  bool prestretched = false;
  std::optional<recipe::Band> constructional_stretch;  ///< of a rope that is not prestretched
  std::optional<double> length_tolerance_mm;           ///< what the customer accepts, either way
  std::array<End, 2> ends;
  bool operator==(const Assembly&) const = default;
};

/// Specimens to be pulled to destruction: a terminal of the recipe on each end.
struct Samples {
  std::uint32_t per_recipe = 0;
  double free_length_mm = 0;
  bool operator==(const Samples&) const = default;
};

struct Job {
  std::string id, title, source;
  std::optional<std::string> press;  ///< id of the press the planner means to use
  double cutting_loss_mm = 0;        ///< rope lost at each cut
  double cutting_tolerance_mm = 0;   ///< of each piece's length, either way
  double rope_spare_fraction = 0;
  std::uint32_t terminals_spare = 0;  ///< of each terminal
  std::optional<Samples> destructive_samples;
  std::vector<Assembly> assemblies;
  bool operator==(const Job&) const = default;
};

}  // namespace shankwright::planning
