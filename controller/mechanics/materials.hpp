#pragma once
#include <array>

/// What the shank and the rope are made of, as far as the bite needs it. Stresses MPa, strains natural
/// (logarithmic).
namespace shankwright::mechanics {

/// Shank: true stress K (e0 + e)^n from yield on, e0 = (yield / K)^(1/n), elastic below. Annealed austenitic
/// stainless steel by default: K 1275, n 0.45 (Kalpakjian and Schmid, Manufacturing Processes, table 2.3,
/// value from memory); another handbook prints 1400 and 0.44 (Callister, 2nd ed. 2005, p. 199), 10 % more.
struct FlowStress {
  double strength_mpa = 1275;  ///< K
  double hardening = 0.45;     ///< n
  double yield_mpa = 240;
  double young_mpa = 193000;
  double poisson = 0.29;
  bool operator==(const FlowStress&) const = default;

  [[nodiscard]] double stress_mpa(double plastic_strain) const;
  [[nodiscard]] double slope_mpa(double plastic_strain) const;  ///< of stress over plastic strain
};

/// Rope in the bore: a bundle that first packs (its voids close), then resists; along the axis it slides or
/// is gripped.
struct RopeCore {
  double metal_area_factor =
      0.418;  ///< C in metal area = C d^2: 7x7 0.432, 7x19 0.418 (EN 12385-4), 1x19 about 0.597
  double diameter_mm = 0;
  double grip = 0;  ///< 0 slides freely along the bore, 1 stretches with the shank from the first contact on
  bool operator==(const RopeCore&) const = default;

  [[nodiscard]] double metal_area_mm2() const { return metal_area_factor * diameter_mm * diameter_mm; }
  /// Share of the nominal circle that is metal, rho0 = 4 C / pi.
  [[nodiscard]] double packing() const;
  /// Radial pressure of the bundle squeezed to this radius and d pressure / d radius:
  /// p = (1650 / sqrt 3) ln((1 - rho0) / (1 - rho)), rho = rho0 (d / 2r)^2; 0 while r > d / 2. An assumption
  /// that real parts have to confirm.
  [[nodiscard]] std::array<double, 2> pressure_mpa(double radius_mm) const;
  /// Axial stress of the gripped metal: drawn stainless wire, 170 GPa, 1500 MPa at yield rising to 1800 MPa
  /// at 10 % plastic strain (an assumption of the reference cases); it unloads elastically.
  struct Axial {
    double stress_mpa = 0, slope_mpa = 0, plastic_stretch = 0;
  };
  [[nodiscard]] static Axial axial(double log_stretch, double plastic_stretch_before);
};

}  // namespace shankwright::mechanics
