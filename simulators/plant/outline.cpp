#include "simulators/plant/outline.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace shankwright::plant {

namespace {

constexpr double pi = std::numbers::pi;
constexpr std::size_t rays = 120;
constexpr double radian = pi / 180;

/// Angle folded to the nearest axis of a figure that repeats every `period`: -period/2 to period/2.
double folded(double angle, double period) {
  return angle - period * std::round(angle / period);
}

/// Half groove of radius R moved out by g/2, seen from the middle; open (infinite) in the parting gap.
double groove_radius(double groove, double gap, double cosine, double sine) {
  const double half = std::max(gap, 0.0) / 2;
  const double inside = groove * groove - half * half * sine * sine;
  // Edges relieved over the last 8 degrees before the parting line, by 0.75 % of the groove: metal stands
  // there as a low fin.
  const double relief = std::abs(cosine) < 0.139 ? 0.015 * groove : 0;
  const double radius = half * cosine + std::sqrt(std::max(inside, 0.0)) + relief;
  return radius * cosine < half - 1e-12 ? std::numeric_limits<double>::infinity() : radius;
}

}  // namespace

Outline::Outline(DieShape shape, double across_flats_mm, double shank_radius_mm, double corner)
    : shape_(shape), half_width_mm_(across_flats_mm / 2), shank_radius_mm_(shank_radius_mm), corner_(corner) {
  cosine_.resize(rays);
  sine_.resize(rays);
  secant_.resize(rays);
  for (std::size_t i = 0; i < rays; ++i) {
    const double angle =
        folded((static_cast<double>(i) + 0.5) / rays * period_deg() * radian, period_deg() * radian);
    cosine_[i] = std::cos(angle);
    sine_[i] = std::sin(angle);
    secant_[i] = 1 / cosine_[i];
  }
}

void Outline::add_imprint(double offset_deg, double apothem_mm, double least_gap_mm, double hoop) {
  Old old{hoop, std::vector<double>(rays)};
  const double period = period_deg() * radian;
  for (std::size_t i = 0; i < rays; ++i) {
    const double angle = folded((static_cast<double>(i) + 0.5) / rays * period - offset_deg * radian, period);
    old.radius_mm[i] = shape_ == DieShape::hexagon
                           ? apothem_mm / std::cos(angle)
                           : groove_radius(half_width_mm_, least_gap_mm, std::cos(angle), std::sin(angle));
  }
  old_.push_back(std::move(old));
}

double Outline::die_radius_mm(double gap_mm, std::size_t ray) const {
  return shape_ == DieShape::hexagon ? mean_apothem_mm(gap_mm) / cosine_[ray]
                                     : groove_radius(half_width_mm_, gap_mm, cosine_[ray], sine_[ray]);
}

double Outline::area_mm2(double gap_mm, double hoop) const {
  const double corner_radius = shank_radius_mm_ * std::exp(corner_ * hoop);
  double scale[8];
  const std::size_t count = std::min<std::size_t>(old_.size(), 8);
  const std::size_t skipped =
      old_.size() - count;  // more turns than this: only the newest still shape the outline
  for (std::size_t k = 0; k < count; ++k) scale[k] = std::exp(corner_ * (hoop - old_[skipped + k].hoop));
  double sum = 0;
  const double apothem = mean_apothem_mm(gap_mm);
  for (std::size_t i = 0; i < rays; ++i) {
    const double die = shape_ == DieShape::hexagon ? apothem * secant_[i] : die_radius_mm(gap_mm, i);
    double radius = std::min(corner_radius, die);
    for (std::size_t k = 0; k < count; ++k)
      radius = std::min(radius, old_[skipped + k].radius_mm[i] * scale[k]);
    sum += radius * radius;
  }
  return pi * sum / static_cast<double>(rays);
}

double Outline::mean_apothem_mm(double gap_mm) const {
  return half_width_mm_ + gap_mm / (shape_ == DieShape::hexagon ? 3 : pi);
}

double Outline::free_radius_mm(double hoop, std::size_t ray) const {
  double radius = shank_radius_mm_ * std::exp(corner_ * hoop);
  for (const auto& old : old_)
    radius = std::min(radius, old.radius_mm[ray] * std::exp(corner_ * (hoop - old.hoop)));
  return radius;
}

double Outline::first_contact_gap_mm() const {
  if (shape_ == DieShape::hexagon) return 4 * (shank_radius_mm_ - half_width_mm_);
  // Edges at (W/2, g/2) meet the shank at g = 2 sqrt(R0^2 - (W/2)^2); relieved edges make it 0.88 of that
  // (reference case round_empty: 3.94 mm against 4.47 mm).
  const double inside = shank_radius_mm_ * shank_radius_mm_ - half_width_mm_ * half_width_mm_;
  return inside > 0 ? 0.88 * 2 * std::sqrt(inside) : 0;
}

double Outline::corner_contact_gap_mm(double next_contact_gap_mm) const {
  // 4/3 for the side flats, 1.25 for the corners: reference case tube_empty_second_squeeze, 933 N/mm at 1.0
  // mm.
  return next_contact_gap_mm * (shape_ == DieShape::hexagon ? 4.0 / 3 * 1.25 : 1.2);
}

double Outline::next_contact_gap_mm(double hoop) const {
  if (shape_ == DieShape::hexagon) {
    double reach = 0;
    for (std::size_t i = 0; i < rays; ++i) reach = std::max(reach, free_radius_mm(hoop, i) * cosine_[i]);
    return 3 * (reach - half_width_mm_);
  }
  // Round: halve between open and met dies until the groove just touches some ray.
  double touching = 0, clear = first_contact_gap_mm();
  for (int i = 0; i < 40; ++i) {
    const double gap = (touching + clear) / 2;
    bool touches = false;
    for (std::size_t ray = 0; ray < rays && !touches; ++ray)
      touches = die_radius_mm(gap, ray) < free_radius_mm(hoop, ray);
    (touches ? touching : clear) = gap;
  }
  return touching;
}

}  // namespace shankwright::plant
