#pragma once
#include <Eigen/Dense>
#include <vector>

#include "diagnosis/forecast.hpp"
#include "diagnosis/model_error.hpp"
#include "diagnosis/reading.hpp"

/// A bite as a short list of numbers, measured and as a case expects them, with everything that makes them
/// uncertain. What diagnose() and learn() stand on.
namespace shankwright::diagnosis {

/// Where the bite was and on how much shank. Lengths mm.
struct BitePlace {
  int pass = 1;
  double die_length_mm = 0;
  double fresh_mm = 0;     ///< shank under the die not yet squeezed in this pass, as it lay before the bite
  double squeezed_mm = 0;  ///< under the die and squeezed by the neighbouring bite of this pass
  double before_mm =
      0;  ///< fresh shank that the neighbouring bite worked: what it grew by lies under this die
  double deviation_mm = 0.05;  ///< standard deviation of fresh_mm
};

/// In this order: gap at first contact, force at each of gaps_mm, least gap, its rise over the last tenth of
/// force.
struct Measured {
  std::vector<double> gaps_mm;
  Eigen::VectorXd values;
};

/// The gaps at which every bite of this pass is looked at, wide to narrow.
[[nodiscard]] std::vector<double> looked_at_mm(const Forecast& forecast, int pass);

/// Gaps the closing never reached are left out; `end_gap` says that they were not.
[[nodiscard]] Measured measured_of(const Reading& reading, const std::vector<double>& gaps_mm);

/// The same numbers as a case expects them.
struct Expected {
  Eigen::VectorXd mean;
  Eigen::MatrixXd parts;      ///< covariance from the parts' tolerances
  Eigen::MatrixXd between;    ///< from part to part beyond the tolerances, as told before any accepted part
  Eigen::MatrixXd sensors;    ///< from sensors, place and the gap's play
  Eigen::MatrixXd by_weight;  ///< column per weight of the model's error
  /// `doubt`: share of the prior doubt's variance added because what was learned is another section's.
  [[nodiscard]] Eigen::MatrixXd scatter(const ModelError& error) const;  ///< all but the model's error
  [[nodiscard]] Eigen::MatrixXd covariance(const ModelError& error, double doubt) const;
};
[[nodiscard]] Expected expected_of(const Forecast& forecast, const Case& one, const BitePlace& place,
                                   const ModelError& error, const Reading& reading, const Measured& measured);

/// How much of the prior doubt stays for a case when the recipe's own section is known.
[[nodiscard]] double doubt_left(const Case& one, int pass);

/// Force against gap of the middle of a case on this place, kN, with the model's error as known: for words
/// and plots.
[[nodiscard]] double expected_force_kn(const Forecast& forecast, const Case& one, const BitePlace& place,
                                       const ModelError& error, double gap_mm);

}  // namespace shankwright::diagnosis
