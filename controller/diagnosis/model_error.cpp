#include "diagnosis/model_error.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::diagnosis {
namespace {

constexpr double early_from = 0.5;  // u at which the further doubt begins
constexpr double early_reach = 0.15;

double early_share(double u) {
  return std::clamp((u - early_from) / (1 - early_from), 0.0, 1.0);
}

double alike(double u, double v, double reach) {
  return std::exp(-0.5 * (u - v) * (u - v) / (reach * reach));
}

}  // namespace

ModelDoubt doubt_of(const recipe::JoinedRecipe& joined, int pass) {
  ModelDoubt doubt;
  // A dense strand packs early and hard: how early is the model's largest unknown.
  if (joined.rope.construction == recipe::Construction::strand_1x19) {
    doubt.scale = 0.05;
    doubt.shape = 0.07;
  }
  if (pass > 1) {
    doubt.scale = std::max(doubt.scale, 0.08);
    doubt.shape = 0.12;
    doubt.shape_reach = 0.25;
    doubt.early = 0.5;
    doubt.touch_mm = 0.25;
  }
  return doubt;
}

const std::vector<double>& knots() {
  static const std::vector<double> all{0, 0.15, 0.3, 0.45, 0.6, 0.72, 0.84, 0.92, 1.0, 1.2, 1.4};
  return all;
}

Eigen::VectorXd knot_shares(double u) {
  const auto& at = knots();
  Eigen::VectorXd shares = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(at.size()));
  const double inside = std::clamp(u, at.front(), at.back());
  std::size_t above = 1;
  while (above + 1 < at.size() && at[above] < inside) ++above;
  const double share = (inside - at[above - 1]) / (at[above] - at[above - 1]);
  shares[static_cast<Eigen::Index>(above) - 1] = 1 - share;
  shares[static_cast<Eigen::Index>(above)] = share;
  return shares;
}

ModelError ModelError::before(const ModelDoubt& doubt) {
  const auto& at = knots();
  const auto count = static_cast<Eigen::Index>(at.size());
  ModelError out;
  out.prior = Eigen::MatrixXd::Zero(count + 1, count + 1);
  for (Eigen::Index i = 0; i < count; ++i)
    for (Eigen::Index j = 0; j < count; ++j) {
      const double u = at[static_cast<std::size_t>(i)], v = at[static_cast<std::size_t>(j)];
      out.prior(i, j) =
          doubt.scale * doubt.scale + doubt.shape * doubt.shape * alike(u, v, doubt.shape_reach) +
          doubt.early * doubt.early * early_share(u) * early_share(v) * alike(u, v, early_reach);
    }
  out.prior(count, count) = doubt.touch_mm * doubt.touch_mm;
  out.covariance = out.prior;
  out.mean = Eigen::VectorXd::Zero(count + 1);
  return out;
}

void ModelError::learn(const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect,
                       const Eigen::MatrixXd& noise) {
  const Eigen::MatrixXd expected = effect * covariance * effect.transpose() + noise;
  const Eigen::MatrixXd gain = expected.ldlt().solve(effect * covariance).transpose();
  mean += gain * (residual - effect * mean);
  // Joseph's form stays symmetric and positive however many parts come.
  const Eigen::MatrixXd rest = Eigen::MatrixXd::Identity(mean.size(), mean.size()) - gain * effect;
  covariance = rest * covariance * rest.transpose() + gain * noise * gain.transpose();
  ++parts;
}

}  // namespace shankwright::diagnosis
