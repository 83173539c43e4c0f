#include "diagnosis/model_error.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::diagnosis {
namespace {

constexpr double early_from = 0.5;  // u at which the further doubt begins
constexpr double early_reach = 0.15;

// Metal leaves the die all the while it closes: the first of it round, the last fully squeezed. Between the
// two.
constexpr double overrun_middle = 0.6, overrun_doubt = 0.25;

constexpr int settled = 4;  // accepted parts after which the next one should lie where it is expected

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
    doubt.part = 0.04;
    doubt.part_contact = 0.08;
    doubt.part_early = 0.08;
  }
  if (pass > 1) {
    // Corners on flats: the least certain of all, above all where contact passes from corners to flats.
    doubt.scale = std::max(doubt.scale, 0.10);
    doubt.shape = 0.10;
    doubt.shape_reach = 0.2;
    doubt.early = 0.6;
    doubt.rough = 0.04;
    doubt.part = std::max(doubt.part, 0.02);
    doubt.part_early = 0.10;
    doubt.touch_mm = 0.3;
  }
  return doubt;
}

const std::vector<double>& knots() {
  static const std::vector<double> all{0,    0.1, 0.2,  0.3, 0.4,  0.48, 0.54, 0.6,  0.66, 0.72, 0.78,
                                       0.84, 0.9, 0.95, 1.0, 1.05, 1.12, 1.2,  1.28, 1.36, 1.5};
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
  out.prior = Eigen::MatrixXd::Zero(count + 2, count + 2);
  for (Eigen::Index i = 0; i < count; ++i)
    for (Eigen::Index j = 0; j < count; ++j) {
      const double u = at[static_cast<std::size_t>(i)], v = at[static_cast<std::size_t>(j)];
      out.prior(i, j) =
          doubt.scale * doubt.scale + doubt.shape * doubt.shape * alike(u, v, doubt.shape_reach) +
          doubt.early * doubt.early * early_share(u) * early_share(v) * alike(u, v, early_reach) +
          (i == j ? doubt.rough * doubt.rough : 0.0);
    }
  out.prior(count, count) = doubt.touch_mm * doubt.touch_mm;
  out.prior(count + 1, count + 1) = overrun_doubt * overrun_doubt;
  out.covariance = out.prior;
  out.between_parts = Eigen::MatrixXd::Zero(count + 2, count + 2);
  for (Eigen::Index i = 0; i < count; ++i)
    for (Eigen::Index j = 0; j < count; ++j) {
      const double u = at[static_cast<std::size_t>(i)], v = at[static_cast<std::size_t>(j)];
      const double one =
          doubt.part + doubt.part_early * early_share(u) + doubt.part_contact * alike(u, 0.62, 0.12);
      const double other =
          doubt.part + doubt.part_early * early_share(v) + doubt.part_contact * alike(v, 0.62, 0.12);
      out.between_parts(i, j) = one * other * alike(u, v, early_reach);
    }
  out.mean = Eigen::VectorXd::Zero(count + 2);
  out.mean[count + 1] = overrun_middle;
  return out;
}

void ModelError::learn(const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect,
                       const Eigen::MatrixXd& noise) {
  const Eigen::MatrixXd expected = effect * covariance * effect.transpose() + noise;
  const auto factors = expected.ldlt();
  if (parts >= settled) {
    const Eigen::VectorXd off = residual - effect * mean;
    square += off.dot(factors.solve(off));
    numbers += static_cast<double>(off.size());
  }
  const Eigen::MatrixXd gain = factors.solve(effect * covariance).transpose();
  update(gain, residual, effect, noise);
  ++parts;
}

double ModelError::widening() const {
  const double excess = numbers > 0 ? std::max(1.0, square / numbers) : 1.0;
  return excess * excess;
}

void ModelError::learn_overrun(const Eigen::VectorXd& residual, const Eigen::MatrixXd& effect,
                               const Eigen::MatrixXd& noise) {
  const Eigen::MatrixXd expected = effect * covariance * effect.transpose() + noise;
  Eigen::MatrixXd gain = expected.ldlt().solve(effect * covariance).transpose();
  gain.topRows(gain.rows() - 1).setZero();
  update(gain, residual, effect, noise);
}

void ModelError::update(const Eigen::MatrixXd& gain, const Eigen::VectorXd& residual,
                        const Eigen::MatrixXd& effect, const Eigen::MatrixXd& noise) {
  mean += gain * (residual - effect * mean);
  // Joseph's form stays symmetric and positive whatever the gain and however many parts come.
  const Eigen::MatrixXd rest = Eigen::MatrixXd::Identity(mean.size(), mean.size()) - gain * effect;
  covariance = rest * covariance * rest.transpose() + gain * noise * gain.transpose();
}

}  // namespace shankwright::diagnosis
