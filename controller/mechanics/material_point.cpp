#include "mechanics/material_point.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace shankwright::mechanics {
namespace {

/// Plastic strain that brings the trial stress back to the yield surface, by Newton from the elastic side:
/// the yield stress is concave in the strain, so the iteration only ever approaches from below.
double flow_increment(const FlowStress& flow, double shear_mpa, double trial_mpa, double before) {
  double increment = 0;
  for (int i = 0; i < 50; ++i) {
    const double excess = trial_mpa - 3 * shear_mpa * increment - flow.stress_mpa(before + increment);
    if (std::abs(excess) < 1e-9 * trial_mpa) break;
    increment = std::max(0., increment + excess / (3 * shear_mpa + flow.slope_mpa(before + increment)));
  }
  return increment;
}

}  // namespace

MetalResponse respond(const FlowStress& flow, const MetalHistory& before, const Deformation& f,
                      bool elastic_tangent) {
  const double shear = flow.young_mpa / (2 * (1 + flow.poisson));
  const double bulk = flow.young_mpa / (3 * (1 - 2 * flow.poisson));

  // Trial elastic left Cauchy-Green tensor b = F Cp^-1 F^T and its principal values.
  const PlaneTensor& c = before.inverse_plastic_metric;
  const double ax = f.xx * c.xx + f.xy * c.xy;
  const double ay = f.xx * c.xy + f.xy * c.yy;
  const double bx = f.yx * c.xx + f.yy * c.xy;
  const double by = f.yx * c.xy + f.yy * c.yy;
  const double b_xx = ax * f.xx + ay * f.xy;
  const double b_yy = bx * f.yx + by * f.yy;
  const double b_xy = ax * f.yx + ay * f.yy;
  const double b_zz = std::exp(2 * f.log_stretch) * c.zz;
  const double mean = (b_xx + b_yy) / 2;
  const double half = (b_xx - b_yy) / 2;
  const double spread = std::hypot(half, b_xy);
  const double square_1 = mean + spread;
  const double square_2 = (b_xx * b_yy - b_xy * b_xy) / square_1;
  const double angle = spread > 1e-14 ? std::atan2(b_xy, half) / 2 : 0;
  const double cosine = std::cos(angle);
  const double sine = std::sin(angle);

  const std::array<double, 3> strain{std::log(square_1) / 2, std::log(square_2) / 2, std::log(b_zz) / 2};
  const double volume = strain[0] + strain[1] + strain[2];
  std::array<double, 3> deviator{};
  double size = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    deviator[i] = strain[i] - volume / 3;
    size += deviator[i] * deviator[i];
  }
  size = std::sqrt(size);

  MetalResponse out;
  out.history = before;
  const double trial = std::sqrt(6.) * shear * size;
  double share = 1;      // of the trial deviator that stays
  double flow_term = 0;  // loss of stiffness along the flow direction
  if (trial > flow.stress_mpa(before.plastic_strain)) {
    const double increment = flow_increment(flow, shear, trial, before.plastic_strain);
    out.history.plastic_strain = before.plastic_strain + increment;
    share = 1 - 3 * shear * increment / trial;
    flow_term = 3 * shear / (3 * shear + flow.slope_mpa(out.history.plastic_strain)) - (1 - share);
  }
  std::array<double, 3> stress{};
  std::array<std::array<double, 3>, 3> modulus{};
  for (std::size_t i = 0; i < 3; ++i) {
    stress[i] = bulk * volume + 2 * shear * share * deviator[i];
    for (std::size_t j = 0; j < 3; ++j) {
      const double kept = elastic_tangent ? 1 : share;
      modulus[i][j] = bulk + 2 * shear * kept * ((i == j ? 1. : 0.) - 1. / 3);
      if (flow_term != 0 && !elastic_tangent)
        modulus[i][j] -= 2 * shear * flow_term * deviator[i] * deviator[j] / (size * size);
    }
  }

  // Back to the axes of the section.
  const double cc = cosine * cosine;
  const double ss = sine * sine;
  const double cs = cosine * sine;
  const auto turned = [&](double one, double two, double axial) {
    return PlaneTensor{cc * one + ss * two, ss * one + cc * two, cs * (one - two), axial};
  };
  out.kirchhoff = turned(stress[0], stress[1], stress[2]);

  const double difference = square_1 - square_2;
  const double shear_modulus = difference > 1e-8 * square_1
                                   ? (stress[0] * square_2 - stress[1] * square_1) / difference
                                   : (modulus[0][0] - modulus[0][1]) / 2 - stress[0];
  const std::array<std::array<double, 3>, 3> turn{
      {{cc, ss, cs}, {ss, cc, -cs}, {-2 * cs, 2 * cs, cc - ss}}};  // section strains to principal ones
  const std::array<std::array<double, 3>, 3> principal{{{modulus[0][0] - 2 * stress[0], modulus[0][1], 0},
                                                        {modulus[1][0], modulus[1][1] - 2 * stress[1], 0},
                                                        {0, 0, shear_modulus}}};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      double sum = 0;
      for (std::size_t a = 0; a < 3; ++a)
        for (std::size_t b = 0; b < 3; ++b) sum += turn[a][i] * principal[a][b] * turn[b][j];
      out.tangent[i][j] = sum;
    }
    out.axial_coupling[i] = turn[0][i] * modulus[0][2] + turn[1][i] * modulus[1][2];
  }
  out.axial_tangent = modulus[2][2];

  if (flow_term != 0 || share != 1) {
    std::array<double, 3> kept{};
    for (std::size_t i = 0; i < 3; ++i) kept[i] = std::exp(2 * (share * deviator[i] + volume / 3));
    const PlaneTensor b = turned(kept[0], kept[1], kept[2]);
    const double determinant = f.xx * f.yy - f.xy * f.yx;
    const double ixx = f.yy / determinant;
    const double ixy = -f.xy / determinant;
    const double iyx = -f.yx / determinant;
    const double iyy = f.xx / determinant;
    PlaneTensor& p = out.history.inverse_plastic_metric;
    const double px = ixx * b.xx + ixy * b.xy;
    const double py = ixx * b.xy + ixy * b.yy;
    const double qx = iyx * b.xx + iyy * b.xy;
    const double qy = iyx * b.xy + iyy * b.yy;
    p = {px * ixx + py * ixy, qx * iyx + qy * iyy, px * iyx + py * iyy,
         kept[2] / std::exp(2 * f.log_stretch)};
  }
  return out;
}

}  // namespace shankwright::mechanics
