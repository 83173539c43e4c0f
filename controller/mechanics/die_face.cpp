#include "mechanics/die_face.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace shankwright::mechanics {
namespace {

constexpr double hexagon_edge_share = 1. / 80;
constexpr double round_edge_share = 0.05;
const double cos30 = std::numbers::sqrt3 / 2;

enum Face : std::uint8_t { base, side, edge, parting, groove };

struct Found {
  Touches touches;
  void offer(Face face, double depth_mm, double nx, double ny, double radius_mm = 0) {
    if (depth_mm <= 0 || touches.count == 2) return;
    touches.list[static_cast<std::size_t>(touches.count++)] = {face, depth_mm, {nx, ny}, radius_mm};
  }
};

/// The relieved edge at the parting line: a convex circle of the die, then the parting face itself.
void offer_edge(Found& found, double x, double y, double centre_x, double centre_y, double radius_mm,
                double parting_y) {
  if (x >= centre_x) {
    found.offer(parting, y - parting_y, 0, 1);
    return;
  }
  const double dx = centre_x - x;
  const double dy = centre_y - y;
  const double distance = std::hypot(dx, dy);
  if (distance > 0) found.offer(edge, radius_mm - distance, dx / distance, dy / distance);
}

Touches hexagon(double across_mm, double gap_mm, double x, double y) {
  Found found;
  const double edge_radius = hexagon_edge_share * across_mm;
  const double tangent = edge_radius * std::tan(std::numbers::pi / 6);
  const double corner_x = across_mm / std::numbers::sqrt3;
  // Where the side flat ends and the edge radius begins, up the flat from the split corner.
  const double flat_end_y = gap_mm / 2 + tangent * cos30;
  const double centre_x = corner_x + tangent;
  const double centre_y = gap_mm / 2 + edge_radius;
  const double side_depth = x * cos30 + y / 2 - (across_mm / 2 + gap_mm / 4);
  found.offer(base, y - (across_mm + gap_mm) / 2, 0, 1);
  // Foot of the point on the side flat decides which of the two the point belongs to.
  if (y - side_depth / 2 >= flat_end_y) {
    found.offer(side, side_depth, cos30, 0.5);
  } else {
    offer_edge(found, x, y, centre_x, centre_y, edge_radius, gap_mm / 2);
  }
  return found.touches;
}

Touches round(double across_mm, double gap_mm, double x, double y) {
  Found found;
  const double radius = across_mm / 2;
  const double edge_radius = round_edge_share * across_mm;
  const double centre_x =
      std::sqrt((radius + edge_radius) * (radius + edge_radius) - edge_radius * edge_radius);
  const double up = y - gap_mm / 2;
  if (up * centre_x >= x * edge_radius) {
    const double distance = std::hypot(x, up);
    if (distance > 0) found.offer(groove, distance - radius, x / distance, up / distance, distance);
  } else {
    offer_edge(found, x, y, centre_x, gap_mm / 2 + edge_radius, edge_radius, gap_mm / 2);
  }
  return found.touches;
}

}  // namespace

double first_touch_gap_mm(const Die& die, double shank_diameter_mm) {
  const double across = die.across_flats_mm;
  if (shank_diameter_mm <= across) return 0;
  if (die.shape == DieShape::hexagon) return 2 * (shank_diameter_mm - across);
  const double radius = across / 2;
  const double edge = round_edge_share * across;
  const double reach = shank_diameter_mm / 2 + edge;
  return std::max(
      0.,
      2 * (std::sqrt(std::max(reach * reach - (radius + edge) * (radius + edge) + edge * edge, 0.)) - edge));
}

double parting_corner_mm(const Die& die) {
  return die.shape == DieShape::hexagon ? die.across_flats_mm / std::numbers::sqrt3 : die.across_flats_mm / 2;
}

Touches touches(const Die& die, double gap_mm, double x_mm, double y_mm) {
  return die.shape == DieShape::hexagon ? hexagon(die.across_flats_mm, gap_mm, x_mm, y_mm)
                                        : round(die.across_flats_mm, gap_mm, x_mm, y_mm);
}

}  // namespace shankwright::mechanics
