#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "planning/account.hpp"

/// What must be refused before anything is cut, and what a planner should look at twice.
namespace shankwright::planning {

/// Stored in JSON by name: never rename, only add.
enum class Refusal : std::uint8_t {
  rope_unknown,
  recipe_unknown,
  recipe_not_released,
  rope_not_the_recipes,
  construction_not_the_recipes,
  rope_too_thick_for_bore,
  terminal_not_the_recipes,
  die_pair_not_the_recipes,
  die_pair_wider_than_shank,
  press_not_the_recipes,
  force_over_press_capacity,
  force_over_press_pressure,
  force_over_die_rating,
  no_bite_plan,
  pin_distance_missing,
  tension_too_high,
  too_short,
  too_short_for_the_dies,
  nothing_to_make
};
enum class Caution : std::uint8_t {
  tension_above_working_share,
  length_tolerance_too_tight,
  growth_share_not_measured,
  die_life,
  few_samples,
  short_samples,
  end_given_by_job
};

[[nodiscard]] std::string_view name_of(Refusal code);
[[nodiscard]] std::string_view name_of(Caution code);

/// One finding about the job. `path` is where in the job it stands ("assemblies[0].ends[1].recipe").
template <typename Code>
struct Finding {
  Code code{};
  std::string path;
  std::string found, expected;
};
using Refusals = std::vector<Finding<Refusal>>;
using Cautions = std::vector<Finding<Caution>>;

/// Most tension that a length may be stated at, as a share of the minimum breaking force. Proof loads are 50
/// % in British practice and 60 % in American (training notes on control cable swaging): a length at more
/// than the lesser would have to be measured at a load no assembly was proven at, and beyond about there a
/// rope no longer stretches in proportion.
inline constexpr double tension_share_most = 0.50;
/// Above this a person should look twice: a factor of 4 against breaking is usual for a steady load (common
/// practice, no source).
inline constexpr double tension_share_usual = 0.25;

/// Of one assembly whose rope is known. Every reason is reported, not the first alone.
[[nodiscard]] Refusals refusals_of(const Assembly& assembly, const std::string& path,
                                   const recipe::Rope& rope, const Recipes& recipes,
                                   const std::optional<std::string>& press);

/// Whether the rope between the mouths is long enough; asked when nothing else is wrong.
[[nodiscard]] Refusals too_short(const Assembly& assembly, const std::string& path, const Account& account,
                                 const Recipes& recipes);

/// How far the dies reach past the mouth in the last bite, at most, mm: the rope between two mouths must be
/// longer, or the dies close on the other terminal.
[[nodiscard]] double die_reach_past_mouth_mm(const recipe::JoinedRecipe& joined);

}  // namespace shankwright::planning
