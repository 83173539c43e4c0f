#pragma once
#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <optional>
#include <utility>
#include <vector>

#include "mechanics/material_point.hpp"
#include "mechanics/section.hpp"
#include "mechanics/section_points.hpp"

/// The section's state and the search for its equilibrium: Newton on all displacements and the axial stretch
/// at once.
namespace shankwright::mechanics {

/// Penalty of the die faces: a pressure of 1000 MPa sinks 1 um into a 9 mm shank. Scaled with the shank so
/// that a section twice as large behaves exactly like the smaller one.
inline constexpr double die_stiffness_mpa = 9.12e6;
inline constexpr double sticking_share = 0.05;  ///< of that, along the face, until the metal slides

/// What friction at a point of the outline remembers of the face it last touched.
struct Friction {
  int face = -1;
  double traction_mpa = 0;  ///< along the face, on the original area
  double x_mm = 0, y_mm = 0;
};

struct Section::Inside {
  using Matrix = Eigen::SparseMatrix<double>;
  using Vector = Eigen::VectorXd;

  // What never changes.
  SectionInput input;
  Die die;
  SectionMesh mesh;
  std::vector<MetalPoint> points;
  std::vector<EdgePoint> outer, bore;
  std::vector<int> unknown;  ///< of each displacement (2 per node), -1 where symmetry holds it
  int unknowns = 0;
  double die_stiffness = 0;
  double largest_step_mm = 0;

  // The state.
  Vector moved;  ///< displacement of every node, x and y
  double log_stretch = 0;
  double rope_plastic_stretch = 0;  ///< along the axis, of a gripped rope
  std::vector<MetalHistory> history;
  std::vector<Friction> friction;
  double gap_mm = 0;
  double step_mm = 0;
  bool opened = true;
  int squeezes = 0;
  bool along_x = false;  ///< the dies close along x (after one quarter turn)

  // Of the latest equilibrium.
  double closing_force = 0;  ///< on one quarter, per original mm
  Vector contact_force;

  // Work space, no part of the state.
  Matrix stiffness;  ///< lower triangle, in a pattern that never changes
  std::vector<int> quad_slots, outer_slots, bore_slots;
  Eigen::SimplicialLDLT<Matrix> solver;

  Inside(const SectionInput& in, const Die& d, Fineness fineness)
      : input(in), die(d), mesh(mesh_section(in.shank_diameter_mm, in.bore_mm, fineness)) {
    points = metal_points(mesh);
    outer = edge_points(mesh, mesh.outer);
    bore = edge_points(mesh, mesh.bore);
    unknown.resize(mesh.nodes.size() * 2, -1);
    for (std::size_t n = 0; n < mesh.nodes.size(); ++n) {
      if (!mesh.nodes[n].on_y_axis) unknown[2 * n] = unknowns++;
      if (!mesh.nodes[n].on_x_axis) unknown[2 * n + 1] = unknowns++;
    }
    die_stiffness = die_stiffness_mpa / in.shank_diameter_mm;
    largest_step_mm = in.shank_diameter_mm * (fineness == Fineness::coarse ? 0.005 : 0.0025);
    moved = Vector::Zero(static_cast<Eigen::Index>(unknown.size()));
    history.resize(points.size());
    friction.resize(2 * outer.size());
    contact_force = Vector::Zero(moved.size());
    lay_pattern();
    rest();
  }
  Inside(const Inside& o)
      : input(o.input),
        die(o.die),
        mesh(o.mesh),
        points(o.points),
        outer(o.outer),
        bore(o.bore),
        unknown(o.unknown),
        unknowns(o.unknowns),
        die_stiffness(o.die_stiffness),
        largest_step_mm(o.largest_step_mm),
        moved(o.moved),
        log_stretch(o.log_stretch),
        rope_plastic_stretch(o.rope_plastic_stretch),
        history(o.history),
        friction(o.friction),
        gap_mm(o.gap_mm),
        step_mm(o.step_mm),
        opened(o.opened),
        squeezes(o.squeezes),
        along_x(o.along_x),
        closing_force(o.closing_force),
        contact_force(o.contact_force),
        stiffness(o.stiffness),
        quad_slots(o.quad_slots),
        outer_slots(o.outer_slots),
        bore_slots(o.bore_slots) {
    solver.analyzePattern(stiffness);
  }

  /// Where in the matrix the entry of two displacements lies; -1 for none (held by symmetry, or above the
  /// diagonal).
  [[nodiscard]] int slot(int row, int column) const {
    const int i = unknown[static_cast<std::size_t>(row)];
    const int j = unknown[static_cast<std::size_t>(column)];
    if (i < 0 || j < 0 || i < j) return -1;
    const int* const first = stiffness.innerIndexPtr() + stiffness.outerIndexPtr()[j];
    const int* const last = stiffness.innerIndexPtr() + stiffness.outerIndexPtr()[j + 1];
    return static_cast<int>(std::lower_bound(first, last, i) - stiffness.innerIndexPtr());
  }

  template <std::size_t Nodes>
  void lay_slots(const std::array<int, Nodes>& nodes, std::vector<int>& slots) const {
    for (const int a : nodes)
      for (const int b : nodes)
        for (int i = 0; i < 2; ++i)
          for (int j = 0; j < 2; ++j) slots.push_back(slot(2 * a + i, 2 * b + j));
  }

  /// Elements are the only neighbours there are: the outline's and the bore's points couple nodes of one
  /// edge.
  void lay_pattern() {
    std::vector<Eigen::Triplet<double>> entries;
    for (const SectionMesh::Quad& quad : mesh.quads)
      for (const int a : quad)
        for (const int b : quad)
          for (int i = 0; i < 2; ++i)
            for (int j = 0; j < 2; ++j) {
              const int row = unknown[static_cast<std::size_t>(2 * a + i)];
              const int column = unknown[static_cast<std::size_t>(2 * b + j)];
              if (row >= 0 && column >= 0 && row >= column) entries.emplace_back(row, column, 1.);
            }
    stiffness.resize(unknowns, unknowns);
    stiffness.setFromTriplets(entries.begin(), entries.end());
    stiffness.makeCompressed();
    for (const SectionMesh::Quad& quad : mesh.quads) lay_slots(quad, quad_slots);
    for (const EdgePoint& point : outer) lay_slots(point.nodes, outer_slots);
    for (const EdgePoint& point : bore) lay_slots(point.nodes, bore_slots);
    solver.analyzePattern(stiffness);
  }

  [[nodiscard]] std::array<double, 2> at(const EdgePoint& point, const Vector& u) const {
    std::array<double, 2> out{};
    for (std::size_t i = 0; i < 3; ++i) {
      const auto n = static_cast<std::size_t>(point.nodes[i]);
      const auto row = static_cast<Eigen::Index>(2 * n);
      out[0] += point.share[i] * (mesh.nodes[n].x_mm + u[row]);
      out[1] += point.share[i] * (mesh.nodes[n].y_mm + u[row + 1]);
    }
    return out;
  }

  /// Touches with the section's own axes: the dies close along y, or along x after a quarter turn.
  [[nodiscard]] Touches touches_at(double gap, const std::array<double, 2>& p) const {
    if (!along_x) return touches(die, gap, p[0], p[1]);
    Touches found = touches(die, gap, p[1], p[0]);
    for (Touch& touch : found.list) std::swap(touch.outward[0], touch.outward[1]);
    return found;
  }

  [[nodiscard]] bool any_touch(double gap) const {
    return std::any_of(outer.begin(), outer.end(),
                       [&](const EdgePoint& point) { return touches_at(gap, at(point, moved)).count > 0; });
  }

  [[nodiscard]] double touch_gap() const {
    double none = 2 * first_touch_gap_mm(die, input.shank_diameter_mm) + input.shank_diameter_mm;
    double some = 0;
    if (!any_touch(some)) return 0;
    for (int i = 0; i < 50; ++i) {
      const double middle = (none + some) / 2;
      (any_touch(middle) ? some : none) = middle;
    }
    return some;
  }

  void rest() {
    gap_mm = touch_gap();
    step_mm = largest_step_mm / 2;
    opened = true;
    closing_force = 0;
    contact_force.setZero();
    for (Friction& f : friction) f = {};
  }

  struct Trial {
    std::vector<MetalHistory> history;
    std::vector<Friction> friction;
    Vector contact_force;
    double closing_force = 0;
    double rope_plastic_stretch = 0;
  };

  struct System {
    Vector residual;   ///< forces on the unknowns, out of balance
    Vector coupling;   ///< d residual / d log_stretch
    double axial = 0;  ///< axial residual
    double axial_stiffness = 0;
    double scale = 0;  ///< size of the forces in balance
  };

  void add(int slot, double value) {
    if (slot >= 0) stiffness.valuePtr()[slot] += value;
  }

  void metal(const Vector& u, double stretch, bool unloads, Trial& trial, Vector& force, System& system,
             Vector& coupling) {
    trial.history.resize(points.size());
    for (std::size_t p = 0; p < points.size(); ++p) {
      const MetalPoint& point = points[p];
      const SectionMesh::Quad& quad = mesh.quads[point.quad];
      Deformation f;
      f.log_stretch = stretch;
      for (std::size_t i = 0; i < 8; ++i) {
        const auto row = static_cast<Eigen::Index>(2 * quad[i]);
        f.xx += u[row] * point.slope_x[i];
        f.xy += u[row] * point.slope_y[i];
        f.yx += u[row + 1] * point.slope_x[i];
        f.yy += u[row + 1] * point.slope_y[i];
      }
      const double determinant = f.xx * f.yy - f.xy * f.yx;
      if (!(determinant > 0.01)) throw NoEquilibrium("an element folded over");
      const MetalResponse metal = respond(input.flow, history[p], f, unloads);
      trial.history[p] = metal.history;
      std::array<double, 8> gx{};
      std::array<double, 8> gy{};
      for (std::size_t i = 0; i < 8; ++i) {
        gx[i] = (f.yy * point.slope_x[i] - f.yx * point.slope_y[i]) / determinant;
        gy[i] = (f.xx * point.slope_y[i] - f.xy * point.slope_x[i]) / determinant;
      }
      const PlaneTensor& s = metal.kirchhoff;
      const auto& c = metal.tangent;
      for (std::size_t i = 0; i < 8; ++i) {
        const auto at_row = static_cast<Eigen::Index>(2 * quad[i]);
        force[at_row] += point.area_mm2 * (s.xx * gx[i] + s.xy * gy[i]);
        force[at_row + 1] += point.area_mm2 * (s.xy * gx[i] + s.yy * gy[i]);
        coupling[at_row] +=
            point.area_mm2 * (metal.axial_coupling[0] * gx[i] + metal.axial_coupling[2] * gy[i]);
        coupling[at_row + 1] +=
            point.area_mm2 * (metal.axial_coupling[2] * gx[i] + metal.axial_coupling[1] * gy[i]);
        // Rows of B^T c for this node.
        const std::array<double, 3> bx{c[0][0] * gx[i] + c[2][0] * gy[i], c[0][1] * gx[i] + c[2][1] * gy[i],
                                       c[0][2] * gx[i] + c[2][2] * gy[i]};
        const std::array<double, 3> by{c[1][0] * gy[i] + c[2][0] * gx[i], c[1][1] * gy[i] + c[2][1] * gx[i],
                                       c[1][2] * gy[i] + c[2][2] * gx[i]};
        for (std::size_t j = 0; j < 8; ++j) {
          const double stress = gx[i] * (s.xx * gx[j] + s.xy * gy[j]) + gy[i] * (s.xy * gx[j] + s.yy * gy[j]);
          const int* const to = &quad_slots[point.quad * 256 + i * 32 + j * 4];
          add(to[0], point.area_mm2 * (bx[0] * gx[j] + bx[2] * gy[j] + stress));
          add(to[1], point.area_mm2 * (bx[1] * gy[j] + bx[2] * gx[j]));
          add(to[2], point.area_mm2 * (by[0] * gx[j] + by[2] * gy[j]));
          add(to[3], point.area_mm2 * (by[1] * gy[j] + by[2] * gx[j] + stress));
        }
      }
      system.axial += point.area_mm2 * s.zz;
      system.axial_stiffness += point.area_mm2 * metal.axial_tangent;
    }
  }

  /// Stiffness and force of a point of an edge: force (fx, fy), stiffness kxx, kxy, kyy.
  void spread(const EdgePoint& point, const int* slots, const std::array<double, 2>& f,
              const std::array<double, 3>& k, Vector& force) {
    for (std::size_t i = 0; i < 3; ++i) {
      const auto row = static_cast<Eigen::Index>(2 * point.nodes[i]);
      force[row] += point.share[i] * f[0];
      force[row + 1] += point.share[i] * f[1];
      for (std::size_t j = 0; j < 3; ++j) {
        const double share = point.share[i] * point.share[j];
        const int* const to = slots + i * 12 + j * 4;
        add(to[0], share * k[0]);
        add(to[1], share * k[1]);
        add(to[2], share * k[1]);
        add(to[3], share * k[2]);
      }
    }
  }

  void rope(const Vector& u, Vector& force) {
    if (!input.rope) return;
    for (std::size_t e = 0; e < bore.size(); ++e) {
      const EdgePoint& point = bore[e];
      const std::array<double, 2> p = at(point, u);
      const double radius = std::hypot(p[0], p[1]);
      const auto [pressure, slope] = input.rope->pressure_mpa(radius);
      if (pressure == 0 && slope == 0) continue;
      // Outward on the bore: p r per radian of the original section. The residual holds inner less outer
      // forces.
      const double nx = p[0] / radius;
      const double ny = p[1] / radius;
      const double push = pressure * radius * point.angle;
      const double along = -(pressure + slope * radius) * point.angle;
      const double across = -pressure * point.angle;
      spread(point, &bore_slots[e * 36], {-push * nx, -push * ny},
             {along * nx * nx + across * ny * ny, (along - across) * nx * ny,
              along * ny * ny + across * nx * nx},
             force);
    }
  }

  void contact(const Vector& u, double gap, Trial& trial, Vector& force) {
    trial.friction.assign(friction.size(), {});
    trial.contact_force = Vector::Zero(u.size());
    trial.closing_force = 0;
    Vector& pushes = trial.contact_force;
    const double die_step = (gap - gap_mm) / 2;  // of the die half along the closing axis
    for (std::size_t e = 0; e < outer.size(); ++e) {
      const std::array<double, 2> p = at(outer[e], u);
      const Touches found = touches_at(gap, p);
      for (int k = 0; k < found.count; ++k) {
        const auto slot = 2 * e + static_cast<std::size_t>(k);
        const Touch& touch = found.list[static_cast<std::size_t>(k)];
        const auto [nx, ny] = touch.outward;
        const double tx = -ny;
        const double ty = nx;
        const double area = outer[e].length_mm;
        const double pressure = die_stiffness * touch.depth_mm;
        Friction& memory = trial.friction[slot];
        memory = {touch.face, 0, p[0], p[1]};
        double sticking = 0;
        double extra = touch.radius_mm > 0 ? pressure / touch.radius_mm * area : 0;
        for (const std::size_t old : {2 * e, 2 * e + 1}) {
          const Friction& before = friction[old];
          if (before.face != touch.face) continue;
          const double dx = p[0] - before.x_mm - (along_x ? die_step : 0);
          const double dy = p[1] - before.y_mm - (along_x ? 0 : die_step);
          memory.traction_mpa = before.traction_mpa + sticking_share * die_stiffness * (dx * tx + dy * ty);
          sticking = sticking_share * die_stiffness;
        }
        const double most = input.friction * pressure;
        if (std::abs(memory.traction_mpa) > most) {
          memory.traction_mpa = std::copysign(most, memory.traction_mpa);
          sticking = 0;
        }
        extra += sticking * area;
        const double stiff = die_stiffness * area;
        const double fx = area * (pressure * nx + memory.traction_mpa * tx);
        const double fy = area * (pressure * ny + memory.traction_mpa * ty);
        spread(outer[e], &outer_slots[e * 36], {fx, fy},
               {stiff * nx * nx + extra * tx * tx, stiff * nx * ny + extra * tx * ty,
                stiff * ny * ny + extra * ty * ty},
               pushes);
        trial.closing_force += along_x ? fx : fy;
      }
    }
    force += pushes;
  }

  /// Out-of-balance forces and their stiffness. `held` is the share of the last contact force that still
  /// presses while the dies open; without it the dies press by themselves.
  System assemble(const Vector& u, double stretch, double gap, std::optional<double> held, bool unloads,
                  Trial& trial) {
    System system;
    std::fill_n(stiffness.valuePtr(), stiffness.nonZeros(), 0.);
    Vector force = Vector::Zero(u.size());
    Vector coupling = Vector::Zero(u.size());
    metal(u, stretch, unloads, trial, force, system, coupling);
    const double metal_axial = std::abs(system.axial);
    system.scale = std::max(force.lpNorm<1>() + 1e-3 * metal_axial,
                            0.05 * input.flow.yield_mpa * input.shank_diameter_mm);
    rope(u, force);
    if (held) {
      trial.contact_force = contact_force;
      trial.friction = friction;
      force += *held * contact_force;
    } else {
      contact(u, gap, trial, force);
    }
    // The rope that is gripped and the axial force, on a quarter.
    if (input.rope && input.rope->grip > 0) {
      const RopeCore::Axial wire = RopeCore::axial(stretch, rope_plastic_stretch);
      const double area = input.rope->grip * input.rope->metal_area_mm2() / 4;
      trial.rope_plastic_stretch = wire.plastic_stretch;
      system.axial += area * wire.stress_mpa;
      system.axial_stiffness += area * wire.slope_mpa;
    }
    system.axial += input.axial_force_n / 4 * std::exp(stretch);
    system.axial_stiffness += input.axial_force_n / 4 * std::exp(stretch);
    system.residual.resize(unknowns);
    system.coupling.resize(unknowns);
    for (std::size_t i = 0; i < unknown.size(); ++i) {
      if (unknown[i] < 0) continue;
      system.residual[unknown[i]] = force[static_cast<Eigen::Index>(i)];
      system.coupling[unknown[i]] = coupling[static_cast<Eigen::Index>(i)];
    }
    return system;
  }

  /// Newton to equilibrium at this gap; true and the state moved there, or false and nothing changed.
  bool settle(double gap, std::optional<double> held, const Vector& start, double start_stretch,
              int& rounds) {
    Vector u = start;
    double stretch = start_stretch;
    Trial trial;
    try {
      for (rounds = 0; rounds < 20; ++rounds) {
        const System system = assemble(u, stretch, gap, held, held && rounds == 0, trial);
        const double off = std::max(system.residual.lpNorm<Eigen::Infinity>() * 20, std::abs(system.axial));
        if (!std::isfinite(off)) return false;
        if (off < 1e-4 * system.scale + 1e-6) {
          moved = u;
          log_stretch = stretch;
          history = std::move(trial.history);
          friction = std::move(trial.friction);
          if (!held) contact_force = trial.contact_force;
          closing_force = trial.closing_force;
          rope_plastic_stretch = trial.rope_plastic_stretch;
          gap_mm = gap;
          return true;
        }
        solver.factorize(stiffness);
        if (solver.info() != Eigen::Success) return false;
        const Vector direct = solver.solve(system.residual);
        const Vector through = solver.solve(system.coupling);
        const double axial = system.axial_stiffness - system.coupling.dot(through);
        const double change = -(system.axial - system.coupling.dot(direct)) / axial;
        const Vector step = -direct - change * through;
        const double size = std::max(step.lpNorm<Eigen::Infinity>() / (0.02 * input.shank_diameter_mm),
                                     std::abs(change) / 0.02);
        const double damping = size > 1 ? 1 / size : 1;
        for (std::size_t i = 0; i < unknown.size(); ++i)
          if (unknown[i] >= 0) u[static_cast<Eigen::Index>(i)] += damping * step[unknown[i]];
        stretch += damping * change;
      }
    } catch (const NoEquilibrium&) {
      return false;
    }
    return false;
  }
};

}  // namespace shankwright::mechanics
