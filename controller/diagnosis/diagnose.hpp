#pragma once
#include <string>
#include <vector>

#include "diagnosis/observation.hpp"
#include "diagnosis/press_habit.hpp"

/// What one bite's trace most likely tells of. Advice to a technician: it releases and refuses nothing; the
/// interlocks and the recipe's envelope do that.
namespace shankwright::diagnosis {

/// What is known beside the model: its error by pass, and the press's habit. Grows with accepted fittings.
struct Experience {
  std::vector<ModelError> by_pass;  ///< index pass - 1; the last stands for later passes
  std::vector<PressHabit> press;  ///< likewise: how fast oil seems to come depends a little on what it meets
  int left_out = 0;               ///< accepted, but too unlike what was expected to learn from
  int fittings = 0;               ///< accepted ones it rests on
  [[nodiscard]] const ModelError& of_pass(int pass) const;
  [[nodiscard]] const PressHabit& press_in(int pass) const;
};
[[nodiscard]] Experience no_experience(const recipe::JoinedRecipe& joined);

struct TracedBite {
  BitePlace place;
  Reading reading;
};

/// Takes an accepted fitting's bites in: per pass the one with the most fresh shank, since bites of one
/// fitting share its part. The caller never hands over held, scrapped or open fittings.
void learn(Experience& experience, const Forecast& forecast, const std::vector<TracedBite>& bites);

struct Diagnosis {
  PerHypothesis<double> probability{};  ///< sums to 1
  PerHypothesis<double> size{};         ///< most likely size of each, as Case::size
  Hypothesis most_likely = Hypothesis::good;
  /// More than one when the trace cannot tell them apart: each at least a tenth as likely as the likeliest.
  /// Likeliest first; an undersize shank always goes
  /// with a gap that reads less.
  std::vector<Hypothesis> group;
  std::string feature;   ///< what the trace shows, in words
  std::string sentence;  ///< feature and conclusion
  double misfit = 0;  ///< root mean square of the likeliest case's residuals, each over its deviation; above
                      ///< 3: fits nothing
  int rests_on_fittings = 0;
};

[[nodiscard]] Diagnosis diagnose(const Forecast& forecast, const Experience& experience,
                                 const TracedBite& bite);

/// "0.23 mm thicker than the band" and the like; empty where the hypothesis has no size.
[[nodiscard]] std::string size_text(const Forecast& forecast, Hypothesis hypothesis, double size);

}  // namespace shankwright::diagnosis
