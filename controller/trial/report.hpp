#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "trial/pressing.hpp"
#include "trial/statistics.hpp"

/// What a trial found. Plain values; text, JSON, charts and the draft are made from them.
namespace shankwright::trial {

inline constexpr double confidence = 0.95;
/// Percentiles of across flats that are told.
inline constexpr std::array<double, 5> told_shares{0.00135, 0.05, 0.5, 0.95, 0.99865};

/// All fittings pressed at one target force.
struct ForceRow {
  double target_kn = 0;
  std::size_t fittings = 0;
  std::size_t closed = 0;
  recipe::Band closed_share;  ///< exact limits
  std::size_t rejected = 0;
  recipe::Band rejected_share;  ///< exact limits
  std::array<std::size_t, cause_count> causes{};
  // Of the fittings whose dies closed, without the gauge's own error.
  Moments across_flats_mm;
  std::array<double, told_shares.size()> across_flats_at_mm{};  ///< at told_shares
  Moments last_flats_mm;                                        ///< the last pass's flats alone
  std::size_t earlier_widest = 0;  ///< fittings whose widest pair is one of the pass before
  double cpk = 0;
  recipe::Band cpk_band;   ///< what the number of simulated fittings leaves open
  recipe::Band cpk_of_30;  ///< what a first lot of 30 real pieces may show
  Moments growth;
};

/// Which limit ends the window at its upper end.
enum class UpperEnd : std::uint8_t { die_rating, press_capacity, press_pressure };
[[nodiscard]] const char* name_of(UpperEnd end);

struct Window {
  double population_kn = 0;  ///< 99.9 % of the fittings close, press against them, model error added
  std::optional<double>
      corner_kn;  ///< all inputs at once at the end that asks for most, grip 1, the same press
  double upper_kn = 0;
  UpperEnd upper_end = UpperEnd::die_rating;
  double force_limit_kn_max = 0;  ///< die rating, press capacity or pressure
  bool margin_held = true;        ///< 15 % of the press capacity stay unused
  bool empty = false;
  bool corner_closes = false;  ///< at the recommended force
  double recommended_kn = 0;   ///< 0 when empty
  prediction::Part corner{};
};

/// Share of the variance that goes with one input alone, by scatter index.
using Shares = std::array<double, scatter_count>;

struct Sensitivity {
  double at_kn = 0;
  std::size_t fittings = 0;
  double across_flats_deviation_mm = 0, growth_deviation = 0, force_deviation_kn = 0;
  Shares across_flats{};  ///< as the gauge reads it
  Shares growth{};
  Shares force{};  ///< target force needed to close
};

/// Quantiles of what the pressure reads, as force for a whole die length, over the population.
struct Fan {
  std::vector<double> gap_mm;                   ///< falling
  std::vector<double> low_kn, mid_kn, high_kn;  ///< 5, 50, 95 %
};

struct Histogram {
  double first_edge_mm = 0, width_mm = 0;
  std::vector<std::size_t> counts;
};

struct Report {
  recipe::JoinedRecipe joined;
  bool has_forces = true;  ///< false: the recipe is being made, nothing to compare with
  std::uint64_t seed = 0;
  std::size_t fittings = 0;
  Scatters scatters{};
  std::vector<double> engaged_mm;
  prediction::SurfaceError model_error;
  double closing_error = 0;  ///< of it, of the force that closes the dies, relative
  double limit_ratio = 0;
  double uncertainty_mm = 0;
  double die_opening_mm = 0;     ///< at the centre part's closing force
  double centre_closing_kn = 0;  ///< at the dies
  bool envelope_judged = false;
  std::vector<ForceRow> rows;  ///< force rising
  Window window;
  std::optional<ForceRow> recommended, present;
  Sensitivity sensitivity;
  Histogram across_flats;  ///< at the recommended force (upper end of an empty window)
  std::vector<Fan> fans;   ///< by pass
  // For the draft: quantiles 0.1 and 99.9 % over the population, widened by the model error.
  std::vector<std::vector<recipe::ForceAtGap>> envelope;
  recipe::Band growth_band;
  double growth_second_pass_least = 0;
};

}  // namespace shankwright::trial
