#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "trial/run.hpp"

/// A whole trial of one recipe, from the section runs to the report: what the command and the page both do.
namespace shankwright::trial {

struct WholeTrial {
  recipe::JoinedRecipe joined;
  std::optional<Scatters> scatters;  ///< nothing: as assumed for the recipe
  std::vector<double> forces_kn;     ///< rising; empty: chosen_forces_kn()
  bool judge_envelope = false;
  std::size_t fittings = 20000;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< the answer does not depend on it
};

/// The scatter that is assumed for a recipe, to be changed where the shop has measured.
[[nodiscard]] Scatters assumed_scatters(const recipe::JoinedRecipe& joined);

/// Told on the way; each may be empty. With one thread each may throw, which ends the trial with that
/// exception.
struct WholeTrialWatch {
  std::function<void(int done, int all)> section_run;
  std::function<void(std::size_t fittings)> pressing;
  /// A report on the first 1000 fittings, before all of them are pressed; for whoever watches.
  std::function<void(const Report& report)> first_report;
};

/// A Problem when the section model cannot run the recipe.
[[nodiscard]] Result<Report> run_whole(const WholeTrial& wanted, const WholeTrialWatch& watch = {});

}  // namespace shankwright::trial
