#pragma once
#include <array>
#include <cstdint>

/// The working faces of a die pair as one section of shank meets them. Lengths mm. By symmetry a quarter of
/// the section is enough: x across, y along the closing axis, both from the shank's axis, both >= 0.
namespace shankwright::mechanics {

enum class DieShape : std::uint8_t { hexagon, round };

/// Hexagon: split at two opposite corners, across flats W, base flat at W/2 + gap/2, side flats (60 degrees
/// off the closing axis) at W/2 + gap/4. Round: two half grooves of diameter W. The edges at the parting line
/// are relieved by a radius: W/80 for a hexagon, W/20 for a round groove.
struct Die {
  DieShape shape = DieShape::hexagon;
  double across_flats_mm = 0;  ///< groove diameter for a round die
  bool operator==(const Die&) const = default;
};

/// Gap at which a shank of this diameter is first touched: 2 (D - W) for a hexagon.
[[nodiscard]] double first_touch_gap_mm(const Die& die, double shank_diameter_mm);

/// Distance from the axis to where the working faces end at the parting line.
[[nodiscard]] double parting_corner_mm(const Die& die);

/// One face of the die against one point of the shank.
struct Touch {
  std::uint8_t face = 0;            ///< which face; friction remembers per face
  double depth_mm = 0;              ///< how far the point lies inside the die, > 0 when touching
  std::array<double, 2> outward{};  ///< unit vector from the cavity into the die
  double radius_mm = 0;             ///< of a concave groove at the point, 0 for a flat or a convex edge
};

/// Faces the point lies inside of: 0, 1 or 2 (near the corner between two flats).
struct Touches {
  std::array<Touch, 2> list{};
  int count = 0;
};
[[nodiscard]] Touches touches(const Die& die, double gap_mm, double x_mm, double y_mm);

}  // namespace shankwright::mechanics
