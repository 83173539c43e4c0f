#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "diagnosis/hypothesis.hpp"
#include "prediction/surface.hpp"
#include "quantity/result.hpp"
#include "recipe/model.hpp"

/// What the section model expects of a recipe's bites under every hypothesis. Slow to build (some forty runs
/// of the section), then good for any number of bites. Pure; the same input gives the same forecast whatever
/// the threads.
namespace shankwright::diagnosis {

/// One population of faulty bites, or the good one: curves of its middle; its members scatter as the good
/// parts do.
struct Case {
  Hypothesis hypothesis = Hypothesis::good;
  double size = 0;    ///< how far from what the recipe asks; mm, share of metal, friction: see size_text()
  double weight = 1;  ///< among the cases of its hypothesis, sums to 1
  std::vector<prediction::PassCurve> curves;  ///< by pass; last one stands for all later passes
  double solid_share = 0;                     ///< of the die's length over solid; the rest as good
  double gap_offset_mm = 0;                   ///< the reading shows that much more
  double gap_mm_per_kn = 0;                   ///< and that much more with every kN
  bool foreign =
      false;  ///< the model's error is known for the recipe's own section only: here it is less sure
  double pump_share = 1;     ///< oil delivered, share of what the press delivers
  double air_travel_mm = 0;  ///< further travel lost while the pressure first rises
};

struct Forecast {
  recipe::JoinedRecipe joined;
  std::vector<prediction::PassCurve> centre;  ///< the good population's middle, by pass
  std::vector<prediction::PassCurve> solid;   ///< no bore
  /// Curves with one input one standard deviation above its centre, by Input; empty where it does not
  /// scatter.
  std::vector<std::vector<prediction::PassCurve>> moved;
  std::vector<Case> cases;
  std::optional<prediction::Surface> surface;  ///< of the good population
};

struct ForecastSetting {
  recipe::JoinedRecipe joined;
  std::vector<double> other_dies_mm;  ///< across flats of the other pairs in the shop; empty: sizes between
                                      ///< 0.25 and 1.2 mm off are assumed
  bool good_only = false;             ///< no faulty populations: enough for an envelope, and learning
  unsigned threads = 1;
};

using Progress = std::function<void(int done, int all)>;

/// Problem when the model cannot follow the recipe's own bite. A faulty population it cannot follow is left
/// out.
[[nodiscard]] Result<Forecast> forecast(const ForecastSetting& setting, const Progress& progress = {});

}  // namespace shankwright::diagnosis
