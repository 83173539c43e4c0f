#pragma once
#include <vector>

#include "simulators/plant/section.hpp"

namespace shankwright::plant {

/// The outline a shank can have between the dies: bounded by the dies as they stand, by the flats of earlier
/// squeezes, and by its own free radius. Angles from the closing axis of the squeeze now running; the area
/// comes from the mean of r^2.
class Outline {
 public:
  Outline() = default;
  Outline(DieShape shape, double across_flats_mm, double shank_radius_mm, double corner);

  /// `offset_deg`: the earlier squeeze's closing axis seen from this one's.
  void add_imprint(double offset_deg, double apothem_mm, double least_gap_mm, double hoop);

  [[nodiscard]] double area_mm2(double gap_mm, double hoop) const;
  /// Hexagon: base flats at W/2 + g/2, sides at W/2 + g/4: W/2 + g/3 in the mean. Round: the groove's radius
  /// plus g/pi.
  [[nodiscard]] double mean_apothem_mm(double gap_mm) const;
  /// A round shank first touches the side flats at 2 (D0 - W); in a round groove with relieved edges, the
  /// groove's edges.
  [[nodiscard]] double first_contact_gap_mm() const;
  /// Largest gap at which the dies touch the outline that earlier squeezes left.
  [[nodiscard]] double next_contact_gap_mm(double hoop) const;
  /// Gap at which the first die face touches a corner, given the gap above: side flats close half as fast as
  /// the mean, and real corners stand a little prouder than the mean free radius.
  [[nodiscard]] double corner_contact_gap_mm(double next_contact_gap_mm) const;
  /// The outline repeats after this turn: 60 degrees for a hexagon, 180 for a pair of round grooves.
  [[nodiscard]] double period_deg() const { return shape_ == DieShape::hexagon ? 60 : 180; }

 private:
  [[nodiscard]] double die_radius_mm(double gap_mm, std::size_t ray) const;
  [[nodiscard]] double free_radius_mm(double hoop, std::size_t ray) const;

  struct Old {
    double hoop;
    std::vector<double> radius_mm;  ///< by ray
  };
  DieShape shape_ = DieShape::hexagon;
  double half_width_mm_ = 0, shank_radius_mm_ = 0, corner_ = 0;
  std::vector<double> cosine_, secant_,
      sine_;  ///< of each ray against the nearest flat (hexagon) or the closing axis (round)
  std::vector<Old> old_;
};

}  // namespace shankwright::plant
