#include "mechanics/section_mesh.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <map>
#include <numbers>
#include <utility>

namespace shankwright::mechanics {
namespace {

constexpr double quarter_turn = std::numbers::pi / 2;
constexpr double on_axis_mm = 1e-9;

struct Builder {
  SectionMesh mesh;
  std::map<std::pair<int, int>, int> midway;

  int node(double x, double y) {
    if (std::abs(x) < on_axis_mm) x = 0;
    if (std::abs(y) < on_axis_mm) y = 0;
    mesh.nodes.push_back({x, y, y == 0, x == 0});
    return static_cast<int>(mesh.nodes.size()) - 1;
  }

  /// The node between two corners, once; on the circle of `radius_mm` where that is not 0.
  int between(int a, int b, double radius_mm) {
    const auto [place, is_new] = midway.try_emplace({std::min(a, b), std::max(a, b)}, 0);
    if (is_new) {
      const MeshNode& one = mesh.nodes[static_cast<std::size_t>(a)];
      const MeshNode& other = mesh.nodes[static_cast<std::size_t>(b)];
      double x = (one.x_mm + other.x_mm) / 2;
      double y = (one.y_mm + other.y_mm) / 2;
      if (radius_mm > 0) {
        const double stretch = radius_mm / std::hypot(x, y);
        x *= stretch;
        y *= stretch;
      }
      place->second = node(x, y);
    }
    return place->second;
  }

  /// `radius(a, b)` says on which circle about the axis the edge from a to b lies, 0 for a straight one.
  void quad(const std::array<int, 4>& corners, const std::function<double(int, int)>& radius) {
    SectionMesh::Quad quad{};
    for (std::size_t i = 0; i < 4; ++i) {
      const int a = corners[i];
      const int b = corners[(i + 1) % 4];
      quad[i] = a;
      quad[i + 4] = between(a, b, radius(a, b));
    }
    mesh.quads.push_back(quad);
  }
};

SectionMesh tube(double outer_mm, double bore_mm, int through, int around) {
  Builder build;
  const auto radius_of = [&](int layer) { return bore_mm / 2 + (outer_mm - bore_mm) / 2 * layer / through; };
  const auto at = [&](int k, int i) { return k * (through + 1) + i; };
  for (int k = 0; k <= around; ++k) {
    const double angle = quarter_turn * k / around;
    for (int i = 0; i <= through; ++i)
      build.node(radius_of(i) * std::cos(angle), radius_of(i) * std::sin(angle));
  }
  const auto circle = [&](int a, int b) {
    return a % (through + 1) == b % (through + 1) ? radius_of(a % (through + 1)) : 0.;
  };
  for (int k = 0; k < around; ++k)
    for (int i = 0; i < through; ++i)
      build.quad({at(k, i), at(k, i + 1), at(k + 1, i + 1), at(k + 1, i)}, circle);
  for (int k = 0; k < around; ++k) {
    const auto edge = [&](int layer) {
      const int a = at(k, layer);
      const int b = at(k + 1, layer);
      return SectionMesh::Edge{a, build.between(a, b, radius_of(layer)), b};
    };
    build.mesh.outer.push_back(edge(through));
    build.mesh.bore.push_back(edge(0));
  }
  return build.mesh;
}

/// A square block of `half` by `half` about the axis, and a ring of 2 `half` by `through` around it.
SectionMesh disc(double outer_mm, int through, int half) {
  Builder build;
  const double radius = outer_mm / 2;
  const double on_axis = 0.5 * radius;
  const double on_diagonal = 0.42 * radius;
  std::vector<std::vector<int>> block(static_cast<std::size_t>(half + 1));
  for (int i = 0; i <= half; ++i)
    for (int j = 0; j <= half; ++j) {
      const double u = static_cast<double>(i) / half;
      const double v = static_cast<double>(j) / half;
      block[static_cast<std::size_t>(i)].push_back(build.node(u * on_axis * (1 - v) + u * v * on_diagonal,
                                                              v * on_axis * (1 - u) + u * v * on_diagonal));
    }
  const auto in_block = [&](int i, int j) {
    return block[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
  };
  const auto straight = [](int, int) { return 0.; };
  for (int i = 0; i < half; ++i)
    for (int j = 0; j < half; ++j)
      build.quad({in_block(i, j), in_block(i + 1, j), in_block(i + 1, j + 1), in_block(i, j + 1)}, straight);

  std::vector<std::vector<int>> ray;
  for (int k = 0; k <= 2 * half; ++k) {
    const int from = k <= half ? in_block(half, k) : in_block(2 * half - k, half);
    const double angle = quarter_turn * k / (2 * half);
    const MeshNode start = build.mesh.nodes[static_cast<std::size_t>(from)];
    ray.push_back({from});
    for (int l = 1; l <= through; ++l) {
      const double share = static_cast<double>(l) / through;
      ray.back().push_back(build.node(start.x_mm + (radius * std::cos(angle) - start.x_mm) * share,
                                      start.y_mm + (radius * std::sin(angle) - start.y_mm) * share));
    }
  }
  for (std::size_t k = 0; k + 1 < ray.size(); ++k) {
    const int a = ray[k].back();
    const int b = ray[k + 1].back();
    const auto circle = [&](int p, int q) { return (p == a && q == b) || (p == b && q == a) ? radius : 0.; };
    for (std::size_t l = 0; l + 1 < ray[k].size(); ++l)
      build.quad({ray[k][l], ray[k][l + 1], ray[k + 1][l + 1], ray[k + 1][l]}, circle);
    build.mesh.outer.push_back({a, build.between(a, b, radius), b});
  }
  return build.mesh;
}

}  // namespace

SectionMesh mesh_section(double outer_diameter_mm, double bore_mm, Fineness fineness) {
  const int level = static_cast<int>(fineness);  // 0, 1, 2
  constexpr std::array<int, 3> through{2, 3, 5};
  constexpr std::array<int, 3> around{14, 20, 32};
  const auto pick = static_cast<std::size_t>(level);
  if (bore_mm <= 0) return disc(outer_diameter_mm, through[pick] + 1, around[pick] / 2);
  return tube(outer_diameter_mm, bore_mm, through[pick], around[pick]);
}

}  // namespace shankwright::mechanics
