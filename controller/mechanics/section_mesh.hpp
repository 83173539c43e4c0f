#pragma once
#include <array>
#include <vector>

/// A quarter of a shank's cross-section cut into eight-node quadrilaterals. Lengths mm.
namespace shankwright::mechanics {

/// How finely. Standard is within 0.3 % of force and 0.05 points of growth of a mesh twice as fine in each
/// direction.
enum class Fineness { coarse, standard, fine };

struct MeshNode {
  double x_mm = 0, y_mm = 0;
  bool on_x_axis = false, on_y_axis = false;  ///< symmetry: y, or x, stays zero there
};

struct SectionMesh {
  using Quad = std::array<int, 8>;  ///< corners counter-clockwise, then the node midway after each corner
  using Edge = std::array<int, 3>;  ///< corner, midway, corner; counter-clockwise about the axis
  std::vector<MeshNode> nodes;
  std::vector<Quad> quads;
  std::vector<Edge> outer, bore;  ///< bore empty for a solid section
};

/// `bore_mm` 0 for solid. The outline is exact to the elements' curved edges.
[[nodiscard]] SectionMesh mesh_section(double outer_diameter_mm, double bore_mm, Fineness fineness);

}  // namespace shankwright::mechanics
