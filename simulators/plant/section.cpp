#include "simulators/plant/section.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "simulators/plant/outline.hpp"

namespace shankwright::plant {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double step_mm = 0.01;
constexpr double deepest_mm = -0.2;          // die faces never press each other in by more than this
constexpr double rope_strength_mpa = 1650;   // sw of the packing law: an assumption, see simulators/README.md
constexpr double rope_modulus_mpa = 100000;  // of a rope, not of a wire
constexpr double slack = 1e-9;

double flow_mpa(const FlowStress& flow, double strain) {
  const double yield_strain = std::pow(flow.yield_mpa / flow.k_mpa, 1 / flow.n);
  return flow.k_mpa * std::pow(yield_strain + std::max(strain, 0.0), flow.n);
}

double rope_area_mm2(const SectionInput& input) {
  return input.rope ? input.rope->metal_area_factor * input.rope->diameter_mm * input.rope->diameter_mm : 0;
}

/// Metal per area of a rope as it lies, and at the most that it can be packed: the law runs to infinity at 1,
/// and the slab model has no answer for a core harder than some 3 GPa that slides freely.
double loose_density(const RopeCore& rope) {
  return 4 * rope.metal_area_factor / pi;
}
double densest(const RopeCore& rope) {
  return 1 - (1 - loose_density(rope)) * std::exp(-3.0);
}

/// Radial pressure of the packed rope: 0 until the voids between its wires and the bore are gone.
double rope_pressure_mpa(const SectionInput& input, double bore_area_mm2) {
  if (!input.rope) return 0;
  const double loose = loose_density(*input.rope);
  const double density = std::min(rope_area_mm2(input) / bore_area_mm2, densest(*input.rope));
  if (density <= loose) return 0;
  return rope_strength_mpa / std::sqrt(3.0) * std::log((1 - loose) / (1 - density));
}

double metal_area_mm2(const SectionInput& input) {
  return pi / 4 * (input.shank_od_mm * input.shank_od_mm - input.bore_mm * input.bore_mm);
}

struct Stresses {  // MPa, compression positive
  double hoop, radial, axial, rope;
};

Stresses stresses(const SectionInput& input, double outer_radius, double bore_radius, double log_stretch,
                  double flow) {
  const double stretch = std::exp(log_stretch);
  Stresses s{};
  const double area = metal_area_mm2(input);
  const double rope_axial =
      rope_area_mm2(input) * std::min(rope_modulus_mpa * log_stretch, rope_strength_mpa) * input.grip;
  s.axial = stretch * (rope_axial + input.axial_force_n) / area;
  if (input.bore_mm <= 0) {
    s.hoop = s.radial = flow + s.axial;
    return s;
  }
  s.rope = rope_pressure_mpa(input, pi * bore_radius * bore_radius) / stretch;
  const double wall = outer_radius - bore_radius;
  s.hoop = flow;
  for (int i = 0; i < 60; ++i) {  // outer pressure and hoop stress depend on each other
    const double outer = (s.rope * bore_radius + wall * s.hoop) / outer_radius;
    s.radial = (outer + s.rope) / 2;
    const double sum = s.radial + s.axial;
    const double rest = s.radial * s.radial + s.axial * s.axial - s.radial * s.axial - flow * flow;
    const double hoop = 0.5 * (sum + std::sqrt(std::max(sum * sum - 4 * rest, 0.0)));
    const bool settled = std::abs(hoop - s.hoop) < 1e-7 * flow;
    s.hoop = hoop;
    if (settled) break;
  }
  return s;
}

/// Solves x = function(x) near `start` by secants; the functions here are smooth and change slowly with x.
template <typename Function>
double fixed_point(double start, Function function) {
  double before = start, before_off = function(before) - before;
  double x = before + before_off;
  for (int i = 0; i < 30; ++i) {
    const double off = function(x) - x;
    if (std::abs(off) < 1e-11) return x;
    const double slope = (off - before_off) / (x - before);
    before = x;
    before_off = off;
    // A slope of -1 is that of a constant function; a bend could spoil the secant, so it is kept near that.
    x -= off / (std::isfinite(slope) ? std::clamp(slope, -2.0, -0.3) : -1.0);
  }
  return x;
}

/// Root of a rising function in [low, high] by the Illinois variant of false position.
template <typename Function>
double rising_root(Function function, double low, double high) {
  double at_low = function(low);
  if (at_low >= 0) return low;
  double at_high = function(high);
  for (int i = 0; at_high < 0 && i < 40; ++i) {
    low = high;
    at_low = at_high;
    high += 0.01;
    at_high = function(high);
  }
  for (int i = 0; i < 80 && high - low > 1e-12; ++i) {
    const double middle =
        at_high > at_low ? high - at_high * (high - low) / (at_high - at_low) : (low + high) / 2;
    const double value = function(middle);
    if (std::abs(value) < 1e-11) return middle;
    if (value > 0) {
      high = middle;
      at_high = value;
      at_low /= 2;
    } else {
      low = middle;
      at_low = value;
      at_high /= 2;
    }
  }
  return (low + high) / 2;
}

}  // namespace

SectionTuning tuning_of(DieShape shape) {
  switch (shape) {
    case DieShape::hexagon:
      return {.corner = 0.44,
              .work = 1.40,
              .friction_gain = 0.75,
              .bending = 0.66,
              .hoop_ramp = 0.022,
              .later_force = 0.85,
              .later_rope_force = 0.74,
              .later_growth = 0.85,
              .corner_contact = 0.35};
    case DieShape::round:
      return {.corner = 0.44,
              .work = 1.38,
              .friction_gain = 0.75,
              .bending = 0.42,
              .hoop_ramp = 0.022,
              .later_force = 1.0,
              .later_rope_force = 1.0,
              .later_growth = 1.0,
              .corner_contact = 0.5};
  }
  throw std::logic_error("die shape");
}

const char* fault_of(const SectionInput& input) {
  const auto positive = [](double value) { return std::isfinite(value) && value > 0; };
  if (!positive(input.shank_od_mm)) return "the shank's diameter must be above 0 mm";
  if (!positive(input.across_flats_mm)) return "the die's across flats must be above 0 mm";
  if (!std::isfinite(input.bore_mm) || input.bore_mm < 0 || input.bore_mm > 0.95 * input.shank_od_mm)
    return "the bore must lie between 0 and 0.95 of the shank's diameter";
  if (input.shank_od_mm > 1.4 * input.across_flats_mm)
    return "the shank is more than 1.4 times as wide as the die";
  if (!positive(input.flow.k_mpa) || !positive(input.flow.yield_mpa) ||
      input.flow.yield_mpa >= input.flow.k_mpa)
    return "flow stress needs 0 < yield < K";
  if (!(input.flow.n >= 0.02 && input.flow.n <= 1))
    return "the hardening exponent must lie between 0.02 and 1";
  if (!(input.friction >= 0 && input.friction <= 0.6)) return "friction must lie between 0 and 0.6";
  if (!(input.grip >= 0 && input.grip <= 1)) return "grip must lie between 0 and 1";
  if (!(input.axial_force_n >= 0) || !std::isfinite(input.axial_force_n))
    return "axial force must be 0 N or above";
  if (input.rope) {
    if (!positive(input.rope->metal_area_factor) || input.rope->metal_area_factor >= 0.75)
      return "the metal area factor must lie between 0 and 0.75";
    if (!positive(input.rope->diameter_mm)) return "the rope's diameter must be above 0 mm";
    if (input.bore_mm <= 0) return "a solid bar holds no rope";
    if (input.rope->diameter_mm > input.bore_mm) return "the rope is thicker than the bore";
  }
  return nullptr;
}

Squeeze::Squeeze(const SectionInput& input, const SectionState& before, double angle_deg)
    : input_(input), before_(before), angle_deg_(angle_deg) {
  if (const char* fault = fault_of(input)) throw std::invalid_argument(fault);
  tuning_ = tuning_of(input.shape);
  // Shrinking corners shrink the bore and so the corners: with thick walls that would run away at first
  // contact.
  if (input.bore_mm > 0) tuning_.corner = std::min(tuning_.corner, 0.785 * input.bore_mm / input.shank_od_mm);
  const double radius = input.shank_od_mm / 2;
  outline_ = std::make_shared<Outline>(input.shape, input.across_flats_mm, radius, tuning_.corner);
  const double period = outline_->period_deg();
  for (const auto& imprint : before_.imprints) {
    double offset = std::fmod(angle_deg - imprint.angle_deg, period);
    if (offset < 0) offset += period;
    offset = std::min(offset, period - offset);
    if (offset < 0.5) {  // same flats again: the squeeze goes on where that one stopped
      resumed_gap_mm_ = std::max(resumed_gap_mm_.value_or(imprint.least_gap_mm), imprint.least_gap_mm);
      continue;
    }
    outline_->add_imprint(imprint.angle_deg - angle_deg, imprint.apothem_mm, imprint.least_gap_mm,
                          imprint.hoop);
  }
  const bool first = before_.squeezes == 0;
  if (first) {
    start_gap_mm_ = outline_->first_contact_gap_mm();
    contact_at_start_ = 0;
  } else {
    hoop_gap_mm_ = resumed_gap_mm_ ? *resumed_gap_mm_ : outline_->next_contact_gap_mm(before_.hoop);
    start_gap_mm_ = resumed_gap_mm_ ? *resumed_gap_mm_ : outline_->corner_contact_gap_mm(hoop_gap_mm_);
    // Flats on flats carry at once; flats on corners begin with a line of contact.
    double offset = std::fmod(std::abs(angle_deg - before_.imprints.back().angle_deg), period);
    offset = std::min(offset, period - offset);
    contact_at_start_ = resumed_gap_mm_ ? 1 : std::max(0.0, 1 - offset / (period / 2));
  }
  start_gap_mm_ = std::max(start_gap_mm_, deepest_mm);
  Step start{before_.log_stretch, before_.strain, before_.hoop, before_.outer_area_mm2, 0};
  if (first) start.outer_area_mm2 = pi * radius * radius;
  steps_.push_back(start);
  steps_.front().force_n_per_mm = first ? 0 : force_of(start, start_gap_mm_);
}

double Squeeze::force_of(const Step& step, double gap_mm) const {
  const double outer_radius = std::sqrt(step.outer_area_mm2 / pi);
  const double metal = metal_area_mm2(input_) / std::exp(step.log_stretch);
  const double bore_radius =
      input_.bore_mm > 0 ? std::sqrt(std::max(step.outer_area_mm2 - metal, 1e-6) / pi) : 0;
  const double flow = flow_mpa(input_.flow, step.strain);
  const Stresses s = stresses(input_, outer_radius, bore_radius, step.log_stretch, flow);
  // On the corners of an earlier squeeze the contact is narrower, and the bore no longer round.
  const auto later = [&](double share) {
    return before_.squeezes > 0 ? contact_at_start_ + (1 - contact_at_start_) * share : 1.0;
  };
  const double hoop_force = 2 *
                            (s.rope * bore_radius * later(tuning_.later_rope_force) +
                             (outer_radius - bore_radius) * s.hoop * later(tuning_.later_force)) *
                            (1 + tuning_.friction_gain * input_.friction);
  double early = 0;
  if (before_.squeezes > 0) {
    const double travel = start_gap_mm_ - hoop_gap_mm_;
    const double ramp = travel > 0 ? std::clamp((start_gap_mm_ - gap_mm) / travel, 0.0, 1.0) : 1;
    early = hoop_force * (contact_at_start_ + (1 - contact_at_start_) * tuning_.corner_contact * ramp);
  } else {
    const double travel = (start_gap_mm_ - gap_mm) / start_gap_mm_;
    const double ramp = std::min(1.0, travel / 0.15);
    if (input_.bore_mm > 0) {
      const double wall = (input_.shank_od_mm - input_.bore_mm) / 2;
      const double moment =
          2 / std::sqrt(3.0) * flow_mpa(input_.flow, 0.02 + 0.06 * travel) * wall * wall / 4;
      const double lever = (input_.shank_od_mm + input_.bore_mm) / 4;
      early = tuning_.bending * 4 * moment / lever * (1 + 2 * tuning_.friction_gain * input_.friction) * ramp;
    } else {
      early = 0.6 * hoop_force * ramp;
    }
  }
  const double taken_over = std::min(1.0, std::abs(step.hoop - before_.hoop) / tuning_.hoop_ramp);
  return early + (hoop_force - early) * taken_over;
}

void Squeeze::march_to(double gap_mm) const {
  const double radius = input_.shank_od_mm / 2;
  const double bore = input_.bore_mm / 2;
  const double metal0 = metal_area_mm2(input_);
  const double along =
      before_.squeezes == 0 ? 1 : contact_at_start_ + (1 - contact_at_start_) * tuning_.later_growth;
  while (start_gap_mm_ - static_cast<double>(steps_.size() - 1) * step_mm >
         std::max(gap_mm, deepest_mm) + slack) {
    const double gap = start_gap_mm_ - static_cast<double>(steps_.size()) * step_mm;
    const Step last = steps_.back();
    Step next = last;
    const double flow = flow_mpa(input_.flow, last.strain);
    const double most_area = last.outer_area_mm2;
    if (bore <= 0) {
      next.hoop = fixed_point(last.hoop, [&](double hoop) {
        next.outer_area_mm2 = std::min(most_area, outline_->area_mm2(gap, hoop));
        return 0.5 * std::log(next.outer_area_mm2 / (pi * radius * radius));
      });
      next.log_stretch = std::max(last.log_stretch, std::log(metal0 / next.outer_area_mm2));
      next.strain = last.strain + tuning_.work * (next.log_stretch - last.log_stretch);
    } else {
      const double least_bore_area =
          input_.rope ? rope_area_mm2(input_) / densest(*input_.rope) : 0.01 * bore * bore;
      const auto shape_at = [&](double log_stretch,
                                double& area) {  // hoop strain and outer area at this stretch
        const double metal = metal0 / std::exp(log_stretch);
        return fixed_point(last.hoop, [&](double hoop) {
          area = std::min(most_area, outline_->area_mm2(gap, hoop));
          const double bore_area = std::max(area - metal, least_bore_area);
          return std::log((std::sqrt(area / pi) + std::sqrt(bore_area / pi)) / (radius + bore));
        });
      };
      const auto excess = [&](double log_stretch) {
        double area = 0;
        const double hoop = shape_at(log_stretch, area);
        const double bore_area = area - metal0 / std::exp(log_stretch);
        if (bore_area < least_bore_area) return -1.0;  // metal would not fit: it must go lengthwise
        const Stresses s =
            stresses(input_, std::sqrt(area / pi), std::sqrt(bore_area / pi), log_stretch, flow);
        const double mean = (s.hoop + s.radial + s.axial) / 3;
        const double ratio = (s.axial - mean) / std::max(s.hoop - mean, 1e-6 * flow);
        return log_stretch - last.log_stretch - along * ratio * (hoop - last.hoop);
      };
      next.log_stretch = rising_root(excess, last.log_stretch, last.log_stretch + 0.005);
      next.hoop = shape_at(next.log_stretch, next.outer_area_mm2);
      const double dh = next.hoop - last.hoop;
      const double dz = next.log_stretch - last.log_stretch;
      next.strain = last.strain + tuning_.work * 2 / std::sqrt(3.0) * std::sqrt(dh * dh + dh * dz + dz * dz);
    }
    // The press pushes against the most resistance met so far: rounding must not let the force fall while
    // closing.
    next.force_n_per_mm = std::max(last.force_n_per_mm, force_of(next, gap));
    steps_.push_back(next);
  }
}

Squeeze::Step Squeeze::at(double gap_mm) const {
  const double gap = std::max(gap_mm, deepest_mm);
  if (gap >= start_gap_mm_) return steps_.front();
  march_to(gap);
  const double place = (start_gap_mm_ - gap) / step_mm;
  const auto below = std::min(static_cast<std::size_t>(place), steps_.size() - 1);
  const auto above = std::min(below + 1, steps_.size() - 1);
  const double share = std::clamp(place - static_cast<double>(below), 0.0, 1.0);
  const Step& a = steps_[below];
  const Step& b = steps_[above];
  const auto mix = [share](double x, double y) { return x + share * (y - x); };
  return {mix(a.log_stretch, b.log_stretch), mix(a.strain, b.strain), mix(a.hoop, b.hoop),
          mix(a.outer_area_mm2, b.outer_area_mm2), mix(a.force_n_per_mm, b.force_n_per_mm)};
}

double Squeeze::elastic_gap_mm(double force_n_per_mm) const {
  SectionState pressed;
  pressed.peak_force_n_per_mm = force_n_per_mm;
  return std::max(spring_back_mm(input_, pressed), 1e-4);
}

double Squeeze::closing_force_n_per_mm(double gap_mm) const {
  if (gap_mm > start_gap_mm_) {  // elastic approach to metal that an earlier squeeze left there
    const double force = steps_.front().force_n_per_mm;
    if (force <= 0) return 0;
    return force * std::max(0.0, 1 - (gap_mm - start_gap_mm_) / elastic_gap_mm(force));
  }
  return at(gap_mm).force_n_per_mm;
}

double Squeeze::force_n_per_mm(double gap_mm, double reached_gap_mm) const {
  if (gap_mm <= reached_gap_mm || reached_gap_mm >= start_gap_mm_) return closing_force_n_per_mm(gap_mm);
  const double force = at(reached_gap_mm).force_n_per_mm;
  if (force <= 0) return 0;
  return force * std::max(0.0, 1 - (gap_mm - reached_gap_mm) / elastic_gap_mm(force));
}

double Squeeze::growth_at(double gap_mm) const {
  return std::expm1(at(gap_mm).log_stretch);
}

SectionState Squeeze::after(double least_gap_mm) const {
  if (least_gap_mm >= start_gap_mm_) return before_;
  const Step step = at(least_gap_mm);
  SectionState state = before_;
  state.log_stretch = step.log_stretch;
  state.strain = step.strain;
  state.hoop = step.hoop;
  state.outer_area_mm2 = step.outer_area_mm2;
  state.peak_force_n_per_mm = step.force_n_per_mm;
  state.squeezes += 1;
  // The same flats pressed again: their old imprint is gone.
  const double period = outline_->period_deg();
  std::erase_if(state.imprints, [&](const Imprint& old) {
    const double offset = std::fmod(std::abs(angle_deg_ - old.angle_deg), period);
    return std::min(offset, period - offset) < 0.5;
  });
  const double gap = std::max(least_gap_mm, deepest_mm);
  state.imprints.push_back({angle_deg_, outline_->mean_apothem_mm(gap), step.hoop, gap});
  return state;
}

}  // namespace shankwright::plant
