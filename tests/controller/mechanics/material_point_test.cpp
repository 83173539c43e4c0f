#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "mechanics/material_point.hpp"

using namespace shankwright::mechanics;

namespace {

Deformation some_deformation(std::mt19937_64& dice, double size) {
  std::uniform_real_distribution<double> spread(-size, size);
  return {1 + spread(dice), spread(dice), spread(dice), 1 + spread(dice), spread(dice)};
}

}  // namespace

TEST_CASE("Pulled along the axis with free sides, metal follows its flow curve and keeps its volume",
          "[mechanics]") {
  const FlowStress flow;
  for (const double stretch : {0.01, 0.05, 0.2}) {
    // The sides that make the lateral stress vanish, by bisection.
    double low = -stretch;
    double high = 0;
    MetalResponse metal;
    for (int i = 0; i < 80; ++i) {
      const double side = (low + high) / 2;
      metal = respond(flow, {}, {std::exp(side), 0, 0, std::exp(side), stretch});
      (metal.kirchhoff.xx > 0 ? high : low) = side;
    }
    CHECK(metal.kirchhoff.zz == Approx(flow.stress_mpa(metal.history.plastic_strain)).epsilon(1e-6));
    CHECK(metal.history.plastic_strain ==
          Approx(stretch - metal.kirchhoff.zz / flow.young_mpa).epsilon(1e-6));
    // det Cp^-1 = 1: plastic flow changes no volume.
    const PlaneTensor& p = metal.history.inverse_plastic_metric;
    CHECK((p.xx * p.yy - p.xy * p.xy) * p.zz == Approx(1).epsilon(1e-9));
  }
}

TEST_CASE("A turn of the metal turns its stress and nothing else", "[mechanics]") {
  const FlowStress flow;
  const Deformation bent{1.08, 0.03, -0.02, 0.97, 0.02};
  const MetalResponse one = respond(flow, {}, bent);
  const double c = std::cos(0.7);
  const double s = std::sin(0.7);
  const Deformation turned{c * bent.xx - s * bent.yx, c * bent.xy - s * bent.yy, s * bent.xx + c * bent.yx,
                           s * bent.xy + c * bent.yy, bent.log_stretch};
  const MetalResponse other = respond(flow, {}, turned);
  CHECK(other.history.plastic_strain == Approx(one.history.plastic_strain));
  CHECK(other.kirchhoff.zz == Approx(one.kirchhoff.zz));
  CHECK(other.kirchhoff.xx + other.kirchhoff.yy == Approx(one.kirchhoff.xx + one.kirchhoff.yy));
}

// Newton's iteration converges only with the true derivative: compared with a difference quotient of the
// nominal stress P = tau F^-T (in the plane) and of the axial stress, at states drawn with a seed.
TEST_CASE("The stiffness of metal is the derivative of its stress", "[mechanics]") {
  const std::uint64_t seed = 20261125;
  INFO("seed " << seed);
  std::mt19937_64 dice(seed);
  const FlowStress flow;
  for (int round = 0; round < 50; ++round) {
    const MetalHistory before = respond(flow, {}, some_deformation(dice, 0.05)).history;
    const Deformation f = some_deformation(dice, 0.08);
    const MetalResponse at = respond(flow, before, f);
    const double determinant = f.xx * f.yy - f.xy * f.yx;
    // A small change dF = l F with a velocity gradient l: d tau = c : d + l tau + tau l^T.
    std::uniform_real_distribution<double> spread(-1, 1);
    const double lxx = spread(dice);
    const double lxy = spread(dice);
    const double lyx = spread(dice);
    const double lyy = spread(dice);
    const double axial = spread(dice);
    const double h = 1e-7;
    const Deformation after{f.xx + h * (lxx * f.xx + lxy * f.yx), f.xy + h * (lxx * f.xy + lxy * f.yy),
                            f.yx + h * (lyx * f.xx + lyy * f.yx), f.yy + h * (lyx * f.xy + lyy * f.yy),
                            f.log_stretch + h * axial};
    const MetalResponse there = respond(flow, before, after);
    const std::array<double, 3> d{lxx, lyy, lxy + lyx};
    std::array<double, 3> rate{};
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) rate[i] += at.tangent[i][j] * d[j];
      rate[i] += at.axial_coupling[i] * axial;
    }
    const PlaneTensor& t = at.kirchhoff;
    rate[0] += 2 * (lxx * t.xx + lxy * t.xy);
    rate[1] += 2 * (lyx * t.xy + lyy * t.yy);
    rate[2] += lxx * t.xy + lxy * t.yy + t.xx * lyx + t.xy * lyy;
    const double scale = 193000 * 1e-3;
    INFO("determinant " << determinant);
    CHECK((there.kirchhoff.xx - t.xx) / h == Approx(rate[0]).margin(scale));
    CHECK((there.kirchhoff.yy - t.yy) / h == Approx(rate[1]).margin(scale));
    CHECK((there.kirchhoff.xy - t.xy) / h == Approx(rate[2]).margin(scale));
    const double axial_rate = at.axial_coupling[0] * d[0] + at.axial_coupling[1] * d[1] +
                              at.axial_coupling[2] * d[2] + at.axial_tangent * axial;
    CHECK((there.kirchhoff.zz - t.zz) / h == Approx(axial_rate).margin(scale));
  }
}
