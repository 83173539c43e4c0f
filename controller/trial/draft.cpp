#include "trial/draft.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "trial/run.hpp"
#include "trial/window.hpp"

namespace shankwright::trial {
namespace {

double step_kn(double force_kn) {
  return force_kn < 100 ? 0.5 : 1;
}
double down_kn(double force_kn) {
  const double step = step_kn(force_kn);
  return std::max(0., std::floor(force_kn / step + 1e-9) * step);
}
double up_kn(double force_kn) {
  const double step = step_kn(force_kn);
  return std::ceil(force_kn / step - 1e-9) * step;
}

/// "0.06 to 0.14".
std::string range_of(const Report& report, std::size_t scatter, double factor = 1) {
  const auto& s = report.scatters[scatter];
  const auto rounded = [&](double value) { return std::round(value * factor * 1e4) / 1e4; };
  return fmt::format("{:g} to {:g}", rounded(s.centre - s.half_width), rounded(s.centre + s.half_width));
}

std::string source_of(const Report& report) {
  std::string out = fmt::format(
      "Computed by simulation (shankwright trial, seed {}, {} fittings, {} of them rejected), proven on no "
      "real "
      "part. Section model of one bite over shank and rope within their bands, bore {} mm, ",
      report.seed, report.fittings, report.recommended ? report.recommended->rejected : 0,
      range_of(report, static_cast<std::size_t>(prediction::Input::bore)));
  const auto range = [&](prediction::Input input, double factor = 1) {
    return range_of(report, static_cast<std::size_t>(input), factor);
  };
  const auto press = [&](PressInput input) { return range_of(report, index_of(input), 100); };
  using prediction::Input;
  out += fmt::format(
      "strength {} % of nominal, friction {}, rope grip {}, dies {} mm, pressure sensor {} %, seal friction "
      "{} "
      "%. "
      "Envelope and growth: 0.1 to 99.9 % of the fittings, widened by the surface's own error ({:.1f} % of "
      "closing force).",
      range(Input::strength, 100), range(Input::friction), range(Input::grip), range(Input::across_flats),
      press(PressInput::pressure_sensor), press(PressInput::seal_friction), 100 * report.closing_error);
  return out;
}

}  // namespace

std::vector<std::vector<double>> envelope_gaps_mm(const Bench& bench) {
  std::vector<std::vector<double>> out;
  prediction::Part centre;
  for (std::size_t s = 0; s < prediction::input_count; ++s) centre.values[s] = bench.scatters[s].centre;
  const auto& own = bench.joined.recipe.envelope;
  const auto curves = bench.predict(centre, {});
  for (std::size_t p = 0; p < curves.size(); ++p) {
    std::vector<double> gaps;
    if (p < own.size()) {
      for (const auto& point : own[p]) gaps.push_back(point.gap_mm);
    } else {
      for (const double share : p == 0 ? std::array{0.20, 0.12, 0.06} : std::array{0.35, 0.25, 0.15}) {
        const double gap_mm = std::round(share * curves[p].touch_gap_mm * 100) / 100;
        if (gap_mm > bench.joined.recipe.closed_gap_mm + 0.02 && (gaps.empty() || gap_mm < gaps.back()))
          gaps.push_back(gap_mm);
      }
      if (gaps.empty()) gaps.push_back(2 * bench.joined.recipe.closed_gap_mm);
    }
    out.push_back(std::move(gaps));
  }
  return out;
}

recipe::Recipe draft_of(const Report& report, std::uint32_t revision) {
  recipe::Recipe out = report.joined.recipe;
  const recipe::Recipe& before = report.joined.recipe;
  out.revision = revision;
  out.status = recipe::Status::draft;
  out.source = source_of(report);
  const double target_kn = report.window.recommended_kn;
  out.target_force_kn = target_kn;
  double least_ratio = 0.96, most_ratio = 1.06;
  if (before.target_force_kn > 0) {
    least_ratio = before.peak_force_kn.least / before.target_force_kn;
    most_ratio = before.peak_force_kn.most / before.target_force_kn;
  }
  out.force_limit_kn =
      std::min(settable_kn(target_kn * report.limit_ratio), report.window.force_limit_kn_max);
  out.peak_force_kn = {down_kn(target_kn * std::min(1., least_ratio)),
                       std::min(up_kn(target_kn * std::max(1., most_ratio)), out.force_limit_kn)};
  out.envelope.clear();
  for (const auto& pass : report.envelope) {
    std::vector<recipe::ForceAtGap> points;
    for (const recipe::ForceAtGap& at : pass) {
      const recipe::Band band{std::min(down_kn(at.force_kn.least), target_kn),
                              std::min(up_kn(at.force_kn.most), target_kn)};
      // Where some fittings have hardly been touched yet, a band says nothing.
      if (band.least >= 0.1 * band.most) points.push_back({at.gap_mm, band});
    }
    if (points.empty() && !pass.empty())
      points.push_back({pass.back().gap_mm,
                        {std::max(0., down_kn(pass.back().force_kn.least)),
                         std::min(up_kn(pass.back().force_kn.most), target_kn)}});
    out.envelope.push_back(std::move(points));
  }
  constexpr double growth_step = 0.005;
  out.growth_fraction = {std::max(0., std::floor(report.growth_band.least / growth_step) * growth_step),
                         std::min(0.6, std::ceil(report.growth_band.most / growth_step) * growth_step)};
  out.growth_second_pass_least =
      out.passes < 2 ? 0
                     : std::min(0.3, std::floor(report.growth_second_pass_least / growth_step) * growth_step);
  return out;
}

}  // namespace shankwright::trial
