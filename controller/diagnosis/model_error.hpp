#pragma once
#include <Eigen/Dense>
#include <vector>

#include "recipe/model.hpp"

/// By how much the section model may be wrong, as a correlated error over the whole curve, and what accepted
/// parts have taught of it.
///
///   force(u) = model(u) + reference(u) d(u),   u = gap / gap at first contact
///
/// d is a Gaussian process on a few knots: a scale (all knots together), a shape (neighbours together), and
/// more towards the first contact, where section models are known to be poor. Beside it the gap at which
/// first contact is told may be off. The reference is the model's force; in a later pass also a tenth of the
/// closing force about its first contact, since corners may meet earlier than the model says.
namespace shankwright::diagnosis {

/// Standard deviations before any accepted part. Assumptions stated in README.md.
struct ModelDoubt {
  double scale = 0.04;       ///< of the whole curve
  double shape = 0.04;       ///< varying along it
  double shape_reach = 0.3;  ///< over this much of u
  double early = 0.45;       ///< further, at first contact; half of it at u = 0.75, none below 0.5
  double rough = 0.02;       ///< from knot to knot: steps of contact, mesh
  double touch_mm = 0.06;
  double part = 0.012;         ///< from part to part, varying along the curve over 0.15 of u
  double part_contact = 0.05;  ///< further, where the base flats come into contact: u about 0.62
  double part_early = 0.04;    ///< further, at first contact
};
[[nodiscard]] ModelDoubt doubt_of(const recipe::JoinedRecipe& joined, int pass);

/// Knots of d in u, shared by all.
[[nodiscard]] const std::vector<double>& knots();
/// Share of each knot at u: straight lines between them.
[[nodiscard]] Eigen::VectorXd knot_shares(double u);

/// Weights: one per knot, then the touch in mm, then the overrun: the share of what the neighbouring bite
/// grew that left its die fully squeezed. Gaussian.
struct ModelError {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
  Eigen::MatrixXd prior;  ///< covariance before any accepted part
  /// From part to part, beyond what the model's own inputs explain: never learned away.
  Eigen::MatrixXd between_parts;
  int parts = 0;  ///< accepted fittings it rests on

  [[nodiscard]] static ModelError before(const ModelDoubt& doubt);
  [[nodiscard]] double error_at(double u) const {
    return knot_shares(u).dot(mean.head(static_cast<Eigen::Index>(knots().size())));
  }
  [[nodiscard]] static Eigen::Index touch_index() { return static_cast<Eigen::Index>(knots().size()); }
  [[nodiscard]] static Eigen::Index overrun_index() { return touch_index() + 1; }
  [[nodiscard]] double touch_mm() const { return mean[touch_index()]; }
  [[nodiscard]] double overrun() const { return mean[overrun_index()]; }

  /// One accepted fitting: residual = effect * weights + noise. The noise holds the part's own tolerance, so
  /// what is learned is the mean of the parts and nothing narrower.
  void learn(const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect, const Eigen::MatrixXd& noise);
  /// Factor, never below 1, on between_parts: accepted parts that scatter more than expected widen it, by the
  /// square of their excess since only this share of the scatter is not fixed by tolerances and sensors.
  /// Never narrows it.
  [[nodiscard]] double widening() const;
  /// A further bite of a part already learned from: only the overrun is new, the rest is taken as known no
  /// better.
  void learn_overrun(const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect,
                     const Eigen::MatrixXd& noise);

 private:
  double square = 0, numbers = 0;  ///< squared departures of accepted parts, each over what was expected
  void update(const Eigen::MatrixXd& gain, const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect,
              const Eigen::MatrixXd& noise);
};

}  // namespace shankwright::diagnosis
