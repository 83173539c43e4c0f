#pragma once
#include "planning/bill.hpp"
#include "planning/compatibility.hpp"

/// The whole plan of a job. Pure: no clock, no files.
namespace shankwright::planning {

/// What a job may be made of: the library's ropes, and its recipes with everything they name.
struct Parts {
  std::map<std::string, recipe::Rope> ropes;
  Recipes recipes;
};

struct AssemblyPlan {
  Assembly assembly;
  Account account;
  double tension_share = 0;  ///< of the rope's minimum breaking force
};

struct Plan {
  Refusals refusals;  ///< with any of these nothing below is filled: nothing is to be cut
  Cautions cautions;
  std::vector<AssemblyPlan> assemblies;
  Bill bill;
};

[[nodiscard]] Plan plan_of(const Job& job, const Parts& parts);

/// Specimens for destructive pulling that MIL-DTL-87218E (27 Sept 2012), 4.4.2 wants of a lot of assemblies:
/// 2 up to 40, 3 up to 110. Beyond that nothing was read, and 3 are still named.
[[nodiscard]] std::uint32_t samples_usual(std::uint32_t lot);
/// Least free length of a specimen: MIL-DTL-87161F, break test, "at least 10 in or 10 lay lengths"; the lay
/// length is not known here.
inline constexpr double sample_free_length_least_mm = 254;

}  // namespace shankwright::planning
