#pragma once
#include <array>
#include <cstddef>
#include <vector>

#include "mechanics/section_mesh.hpp"

/// Where a mesh's integrals are taken: inside the elements (two by two, reduced integration) and along the
/// edges (three).
namespace shankwright::mechanics {

struct MetalPoint {
  std::array<double, 8> slope_x{}, slope_y{};  ///< d shape / d original x, y
  double area_mm2 = 0;
  std::size_t quad = 0;
};

/// A point on the outline or the bore with its share of the edge.
struct EdgePoint {
  std::array<int, 3> nodes{};
  std::array<double, 3> share{}, slope{};  ///< shape functions and their slopes along the edge
  double length_mm = 0;                    ///< original
  double angle = 0;                        ///< its share of the quarter, radians (bore points)
};

[[nodiscard]] std::vector<MetalPoint> metal_points(const SectionMesh& mesh);
/// Three points for every edge, in its order.
[[nodiscard]] std::vector<EdgePoint> edge_points(const SectionMesh& mesh,
                                                 const std::vector<SectionMesh::Edge>& edges);
/// Weight of the i-th of an edge's three points, over a length of 2.
[[nodiscard]] double edge_weight(std::size_t i);

}  // namespace shankwright::mechanics
