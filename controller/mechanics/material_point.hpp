#pragma once
#include <array>

#include "mechanics/materials.hpp"

/// One point of the shank's metal under large strain: multiplicative plasticity with logarithmic elastic
/// strains and J2 flow, so that the return to the yield surface is the small-strain one in principal axes
/// (Simo, Computer Methods in Applied Mechanics and Engineering 99, 1992). The axis of the shank is always a
/// principal direction. Stresses MPa.
namespace shankwright::mechanics {

/// Symmetric in-plane tensor and the axial component.
struct PlaneTensor {
  double xx = 1, yy = 1, xy = 0, zz = 1;
};

/// What metal remembers.
struct MetalHistory {
  PlaneTensor inverse_plastic_metric;  ///< C_p^-1, the unit tensor in virgin metal
  double plastic_strain = 0;
};

/// In-plane deformation gradient; the axial stretch is exp(log_stretch).
struct Deformation {
  double xx = 1, xy = 0, yx = 0, yy = 1;
  double log_stretch = 0;
};

struct MetalResponse {
  PlaneTensor kirchhoff{0, 0, 0, 0};  ///< stress on the original area
  std::array<std::array<double, 3>, 3>
      tangent{};  ///< spatial, (xx, yy, xy) over (xx, yy, 2 xy), without the stress term
  std::array<double, 3> axial_coupling{};  ///< d stress (xx, yy, xy) / d log_stretch
  double axial_tangent = 0;                ///< d axial stress / d log_stretch
  MetalHistory history;
};

/// `elastic_tangent` gives the stiffness of metal that unloads, though the stress is the true one: the right
/// first guess when dies open.
[[nodiscard]] MetalResponse respond(const FlowStress& flow, const MetalHistory& before,
                                    const Deformation& now, bool elastic_tangent = false);

}  // namespace shankwright::mechanics
