#include "mechanics/section.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>

#include "mechanics/section_inside.hpp"

namespace shankwright::mechanics {
namespace {

constexpr double cos30 = std::numbers::sqrt3 / 2;
using Vector = Eigen::VectorXd;

}  // namespace

Section::Section(const SectionInput& input, const Die& die, Fineness fineness) {
  const bool whole = input.shank_diameter_mm > 0 && input.bore_mm >= 0 &&
                     input.bore_mm < input.shank_diameter_mm && die.across_flats_mm > 0 &&
                     input.flow.yield_mpa > 0 && input.flow.strength_mpa > input.flow.yield_mpa &&
                     input.flow.hardening > 0 && input.friction >= 0;
  if (!whole) throw std::invalid_argument("these lengths and stresses make no section");
  inside_ = std::make_unique<Inside>(input, die, fineness);
}
Section::Section(const Section& other) : inside_(std::make_unique<Inside>(*other.inside_)) {}
Section& Section::operator=(const Section& other) {
  if (this != &other) inside_ = std::make_unique<Inside>(*other.inside_);
  return *this;
}
Section::Section(Section&&) noexcept = default;
Section& Section::operator=(Section&&) noexcept = default;
Section::~Section() = default;

void Section::close_to(double gap_mm) {
  Inside& s = *inside_;
  if (s.opened) {
    if (gap_mm >= s.gap_mm) return;
    s.opened = false;
    ++s.squeezes;
  }
  Vector last_move = Vector::Zero(s.moved.size());
  double last_stretch = 0;
  double last_step = 0;
  while (s.gap_mm > gap_mm + 1e-12) {
    const double step = std::min(s.step_mm, s.gap_mm - gap_mm);
    const double ahead = last_step > 0 ? step / last_step : 0;
    const Vector before = s.moved;
    const double stretch_before = s.log_stretch;
    int rounds = 0;
    bool settled = s.settle(s.gap_mm - step, {}, before + ahead * last_move,
                            stretch_before + ahead * last_stretch, rounds);
    if (!settled && ahead > 0) settled = s.settle(s.gap_mm - step, {}, before, stretch_before, rounds);
    if (settled) {
      last_move = s.moved - before;
      last_stretch = s.log_stretch - stretch_before;
      last_step = step;
      if (rounds < 8) s.step_mm = std::min(s.largest_step_mm, s.step_mm * 1.5);
      continue;
    }
    last_step = 0;
    s.step_mm = step / 2;
    if (s.step_mm < 1e-5 * s.largest_step_mm)
      throw NoEquilibrium("no equilibrium of the section found at a gap of " + std::to_string(s.gap_mm) +
                          " mm");
  }
}

void Section::open() {
  Inside& s = *inside_;
  if (s.opened) return;
  double held = 1;
  for (double step = 0.2; held > 0;) {
    int rounds = 0;
    const double next = std::max(0., held - step);
    if (s.settle(s.gap_mm, next, s.moved, s.log_stretch, rounds)) {
      held = next;
    } else if ((step /= 2) < 1e-3) {
      throw NoEquilibrium("no equilibrium of the section found while the dies opened");
    }
  }
  s.rest();
}

void Section::quarter_turn() {
  open();
  inside_->along_x = !inside_->along_x;
  inside_->rest();
}

double Section::gap_mm() const {
  return inside_->gap_mm;
}
double Section::touch_gap_mm() const {
  return inside_->touch_gap();
}

SectionReading Section::reading() const {
  const Inside& s = *inside_;
  SectionReading out;
  const double stretch = std::exp(s.log_stretch);
  out.growth = stretch - 1;
  out.force_n_per_mm = s.opened ? 0 : 2 * s.closing_force / stretch;
  const auto area = [&](const std::vector<EdgePoint>& edge) {
    double sum = 0;
    for (std::size_t e = 0; e < edge.size(); ++e) {
      double x = 0;
      double y = 0;
      double dx = 0;
      double dy = 0;
      for (std::size_t i = 0; i < 3; ++i) {
        const auto n = static_cast<std::size_t>(edge[e].nodes[i]);
        const auto row = static_cast<Eigen::Index>(2 * n);
        const double px = s.mesh.nodes[n].x_mm + s.moved[row];
        const double py = s.mesh.nodes[n].y_mm + s.moved[row + 1];
        x += edge[e].share[i] * px;
        y += edge[e].share[i] * py;
        dx += edge[e].slope[i] * px;
        dy += edge[e].slope[i] * py;
      }
      sum += (x * dy - y * dx) / 2 * edge_weight(e % 3);
    }
    return 4 * sum;
  };
  out.outer_area_mm2 = area(s.outer);
  out.bore_area_mm2 = area(s.bore);
  const double latest_x = s.along_x ? 1 : 0;
  const double latest_y = s.along_x ? 0 : 1;
  const double within = std::cos(28 * std::numbers::pi / 180);
  const auto width = [&](double nx, double ny) {
    double most = 0;
    for (const SectionMesh::Edge& edge : s.mesh.outer)
      for (int i = 0; i <= 8; ++i) {
        const double t = i / 4. - 1;
        const std::array<double, 3> share{t * (t - 1) / 2, 1 - t * t, t * (t + 1) / 2};
        double x = 0;
        double y = 0;
        for (std::size_t k = 0; k < 3; ++k) {
          const auto n = static_cast<std::size_t>(edge[k]);
          const auto row = static_cast<Eigen::Index>(2 * n);
          x += share[k] * (s.mesh.nodes[n].x_mm + s.moved[row]);
          y += share[k] * (s.mesh.nodes[n].y_mm + s.moved[row + 1]);
        }
        const double reach = nx * x + ny * y;
        // Metal squeezed out at the parting line stands 30 degrees or more off every flat: no gauge rests on
        // it.
        if (nx != latest_y && reach < within * std::hypot(x, y)) continue;
        most = std::max(most, reach);
      }
    return 2 * most;
  };
  out.base_width_mm = width(latest_x, latest_y);
  out.side_width_mm = s.along_x ? width(0.5, cos30) : width(cos30, 0.5);
  out.cross_width_mm = width(latest_y, latest_x);
  out.first_width_mm = std::max(out.cross_width_mm, s.along_x ? width(cos30, 0.5) : width(0.5, cos30));
  out.flash_mm = std::max(0., out.cross_width_mm / 2 - parting_corner_mm(s.die));
  for (const EdgePoint& point : s.outer) {
    const std::array<double, 2> p = s.at(point, s.moved);
    out.corner_radius_mm = std::max(out.corner_radius_mm, std::hypot(p[0], p[1]));
  }
  // Contact pressure, and whether the faces across the closing axis take part in it.
  double pressed = 0;
  double length = 0;
  if (!s.opened)
    for (const EdgePoint& point : s.outer) {
      const Touches found = s.touches_at(s.gap_mm, s.at(point, s.moved));
      if (found.count == 0) continue;
      for (int k = 0; k < found.count; ++k)
        pressed += s.die_stiffness * found.list[static_cast<std::size_t>(k)].depth_mm * point.length_mm;
      // In contact along the closing axis: the point of the outline nearest to it.
      const std::array<double, 2>& outward = found.list[0].outward;
      out.base_touch = out.base_touch || (s.along_x ? outward[0] : outward[1]) > 0.9;
      length += point.length_mm;
    }
  if (length > 0) out.die_pressure_mpa = pressed / (length * stretch);
  if (s.input.rope && out.bore_area_mm2 > 0) {
    out.rope_packing = s.input.rope->metal_area_mm2() / out.bore_area_mm2;
    double turn = 0;
    for (const EdgePoint& point : s.bore) {
      const std::array<double, 2> p = s.at(point, s.moved);
      out.rope_pressure_mpa += s.input.rope->pressure_mpa(std::hypot(p[0], p[1]))[0] * point.angle;
      turn += point.angle;
    }
    out.rope_pressure_mpa /= turn;
  }
  return out;
}

}  // namespace shankwright::mechanics
