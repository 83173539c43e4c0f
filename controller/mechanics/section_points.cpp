#include "mechanics/section_points.hpp"

#include <cmath>
#include <numbers>

namespace shankwright::mechanics {
namespace {

/// Values and derivatives of the eight shape functions at a point of the unit square.
struct Shape {
  std::array<double, 8> along{}, across{};
};
Shape shape_slopes(double s, double t) {
  Shape out;
  constexpr std::array<double, 4> cs{-1, 1, 1, -1};
  constexpr std::array<double, 4> ct{-1, -1, 1, 1};
  for (std::size_t i = 0; i < 4; ++i) {
    out.along[i] = cs[i] * (1 + ct[i] * t) * (2 * cs[i] * s + ct[i] * t) / 4;
    out.across[i] = ct[i] * (1 + cs[i] * s) * (cs[i] * s + 2 * ct[i] * t) / 4;
  }
  out.along[4] = -s * (1 - t);
  out.across[4] = -(1 - s * s) / 2;
  out.along[5] = (1 - t * t) / 2;
  out.across[5] = -t * (1 + s);
  out.along[6] = -s * (1 + t);
  out.across[6] = (1 - s * s) / 2;
  out.along[7] = -(1 - t * t) / 2;
  out.across[7] = -t * (1 - s);
  return out;
}

constexpr double root_3_5 = 0.7745966692414834;
constexpr std::array<double, 3> gauss_at{-root_3_5, 0, root_3_5};
constexpr std::array<double, 3> gauss_weight{5. / 9, 8. / 9, 5. / 9};

}  // namespace

double edge_weight(std::size_t i) {
  return gauss_weight[i];
}

std::vector<EdgePoint> edge_points(const SectionMesh& mesh, const std::vector<SectionMesh::Edge>& edges) {
  std::vector<EdgePoint> out;
  for (const SectionMesh::Edge& edge : edges)
    for (std::size_t g = 0; g < 3; ++g) {
      const double s = gauss_at[g];
      EdgePoint point;
      point.nodes = edge;
      point.share = {s * (s - 1) / 2, 1 - s * s, s * (s + 1) / 2};
      point.slope = {s - 0.5, -2 * s, s + 0.5};
      double x = 0;
      double y = 0;
      double dx = 0;
      double dy = 0;
      for (std::size_t i = 0; i < 3; ++i) {
        const MeshNode& node = mesh.nodes[static_cast<std::size_t>(edge[i])];
        x += point.share[i] * node.x_mm;
        y += point.share[i] * node.y_mm;
        dx += point.slope[i] * node.x_mm;
        dy += point.slope[i] * node.y_mm;
      }
      point.length_mm = std::hypot(dx, dy) * gauss_weight[g];
      point.angle = (x * dy - y * dx) / (x * x + y * y) * gauss_weight[g];
      out.push_back(point);
    }
  return out;
}

std::vector<MetalPoint> metal_points(const SectionMesh& mesh) {
  std::vector<MetalPoint> out;
  const double at = 1 / std::numbers::sqrt3;
  for (std::size_t q = 0; q < mesh.quads.size(); ++q)
    for (const double s : {-at, at})
      for (const double t : {-at, at}) {
        const Shape shape = shape_slopes(s, t);
        double xs = 0;
        double ys = 0;
        double xt = 0;
        double yt = 0;
        for (std::size_t i = 0; i < 8; ++i) {
          const MeshNode& node = mesh.nodes[static_cast<std::size_t>(mesh.quads[q][i])];
          xs += shape.along[i] * node.x_mm;
          ys += shape.along[i] * node.y_mm;
          xt += shape.across[i] * node.x_mm;
          yt += shape.across[i] * node.y_mm;
        }
        MetalPoint point;
        point.quad = q;
        point.area_mm2 = xs * yt - ys * xt;
        for (std::size_t i = 0; i < 8; ++i) {
          point.slope_x[i] = (shape.along[i] * yt - shape.across[i] * ys) / point.area_mm2;
          point.slope_y[i] = (shape.across[i] * xs - shape.along[i] * xt) / point.area_mm2;
        }
        out.push_back(point);
      }
  return out;
}

}  // namespace shankwright::mechanics
