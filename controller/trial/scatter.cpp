#include "trial/scatter.hpp"

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "trial/numbers.hpp"

namespace shankwright::trial {
namespace {

using Shape = prediction::Scatter::Shape;

struct Word {
  std::string_view key, name, unit, remedy;
};

/// By scatter index.
constexpr std::array<Word, scatter_count> words{{
    {"shank_diameter", "shank diameter", "mm", "ask for shanks with a closer outside diameter"},
    {"bore", "bore", "mm", "ask for shanks with a closer bore"},
    {"rope_diameter", "rope diameter", "mm", "accept a narrower band of rope diameters"},
    {"strength", "shank strength", "%", "ask for one heat and anneal per lot, with a certificate"},
    {"friction", "die friction", "1", "clean and lubricate dies and shank the same way every time"},
    {"grip", "rope grip", "1", "find it from real growth; keep rope and bore equally clean"},
    {"across_flats", "die across flats", "mm", "inspect the dies more often and retire them earlier"},
    {"pressure_sensor", "pressure sensor", "%", "calibrate the pressure sensor against a force cell"},
    {"seal_friction", "seal friction", "%", "calibrate force at the dies, and mend stiff seals"},
    {"overshoot", "overshoot", "%", "let the pump slow down earlier"},
    {"gap_sensor", "gap sensor", "mm", "set the gap sensor's zero with the dies closed"},
    {"size_gauge", "across-flats gauge", "mm", "measure with a gauge of smaller uncertainty"},
}};

double normal_below(double z) {
  return 0.5 * boost::math::erfc(-z / std::numbers::sqrt2);
}

}  // namespace

double size_uncertainty_mm(const recipe::JoinedRecipe& joined) {
  double best = std::numeric_limits<double>::infinity();
  for (const auto& gauge : joined.measuring_gauges) {
    if (gauge.kind == recipe::GaugeKind::caliper || gauge.kind == recipe::GaugeKind::micrometer)
      best = std::min(best, gauge.expanded_uncertainty_mm);
  }
  return std::isfinite(best) ? best : 0;
}

Scatters scatters_of(const recipe::JoinedRecipe& joined, const prediction::Population& parts) {
  Scatters out{};
  std::copy(parts.inputs.begin(), parts.inputs.end(), out.begin());
  out[index_of(PressInput::pressure_sensor)] = {Shape::normal, 0, 0.005};
  out[index_of(PressInput::seal_friction)] = {Shape::uniform, 0.015, 0.010};
  out[index_of(PressInput::overshoot)] = {Shape::uniform, 0.0075, 0.0075};
  out[index_of(PressInput::gap_sensor)] = {Shape::normal, 0, 0.010};
  // U covers two standard deviations, half_width three.
  out[index_of(PressInput::size_gauge)] = {Shape::normal, 0, 1.5 * size_uncertainty_mm(joined)};
  return out;
}

double value_at(const prediction::Scatter& scatter, double unit) {
  if (scatter.half_width == 0) return scatter.centre;
  if (scatter.shape == Shape::uniform) return scatter.centre + scatter.half_width * (2 * unit - 1);
  const double outside = normal_below(-3);
  const double below = outside + unit * (1 - 2 * outside);
  const double z = -std::numbers::sqrt2 * boost::math::erfc_inv(2 * below);
  return scatter.centre + std::clamp(z / 3, -1., 1.) * scatter.half_width;
}

prediction::Part Drawn::part() const {
  prediction::Part out;
  std::copy_n(values.begin(), out.values.size(), out.values.begin());
  return out;
}

Drawn draw(const Scatters& scatters, std::uint64_t seed, std::uint64_t fitting) {
  Drawn out;
  for (std::size_t i = 0; i < scatter_count; i += 2) {
    const auto pair = unit_pair(seed, fitting, static_cast<std::uint32_t>(i / 2));
    out.units[i] = pair[0];
    if (i + 1 < scatter_count) out.units[i + 1] = pair[1];
  }
  for (std::size_t i = 0; i < scatter_count; ++i) out.values[i] = value_at(scatters[i], out.units[i]);
  return out;
}

std::string_view name_of(std::size_t scatter) {
  return words.at(scatter).name;
}
std::string_view key_of(std::size_t scatter) {
  return words.at(scatter).key;
}
std::string_view unit_of(std::size_t scatter) {
  return words.at(scatter).unit;
}
std::string_view remedy_of(std::size_t scatter) {
  return words.at(scatter).remedy;
}

}  // namespace shankwright::trial
