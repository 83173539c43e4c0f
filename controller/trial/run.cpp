#include "trial/run.hpp"

#include <algorithm>
#include <cmath>

#include "trial/blocks.hpp"
#include "trial/window.hpp"

namespace shankwright::trial {
namespace {

using prediction::Input;
using prediction::PassCurve;

constexpr std::size_t fan_points = 41;
constexpr double tail = 0.001;  // of the population, beyond either end of a draft's bands

/// What does not depend on the force, one value per fitting.
struct Looks {
  std::array<std::vector<double>, scatter_count> units;
  std::vector<double> needed_kn, against_kn;  ///< target that closes it: press as drawn; press against it
  std::vector<std::vector<std::vector<double>>> fan_kn, envelope_kn;  ///< by pass, by gap, by fitting
};

using Gaps = std::vector<std::vector<double>>;  ///< by pass, falling

Looks look_at_all(const Request& request, const Gaps& fan_gaps_mm) {
  const Bench& bench = request.bench;
  const std::size_t n = request.fittings;
  Looks out;
  for (auto& units : out.units) units.resize(n);
  out.needed_kn.resize(n);
  out.against_kn.resize(n);
  const auto room = [&](const Gaps& gaps) {
    std::vector<std::vector<std::vector<double>>> all;
    for (const auto& pass : gaps) all.emplace_back(pass.size(), std::vector<double>(n));
    return all;
  };
  out.fan_kn = room(fan_gaps_mm);
  out.envelope_kn = room(request.envelope_gaps_mm);
  in_blocks(n, request.threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      const Drawn drawn = draw(bench.scatters, request.seed, i);
      const auto curves = bench.predict(drawn.part(), {});
      for (std::size_t s = 0; s < scatter_count; ++s) out.units[s][i] = drawn.units[s];
      out.needed_kn[i] = target_needed_kn(bench, drawn, curves);
      out.against_kn[i] = target_needed_kn(bench, press_against(bench.scatters, drawn), curves);
      const auto fill = [&](const Gaps& gaps, auto& into) {
        for (std::size_t p = 0; p < gaps.size() && p < curves.size(); ++p)
          for (std::size_t g = 0; g < gaps[p].size(); ++g)
            into[p][g][i] = read_force_kn(bench, drawn, curves[p], gaps[p][g]);
      };
      fill(fan_gaps_mm, out.fan_kn);
      fill(request.envelope_gaps_mm, out.envelope_kn);
    }
  });
  return out;
}

/// By force, by fitting.
std::vector<std::vector<Pressed>> press_all(const Request& request, const std::vector<double>& forces_kn) {
  std::vector<std::vector<Pressed>> out(forces_kn.size(), std::vector<Pressed>(request.fittings));
  in_blocks(request.fittings, request.threads, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      const Drawn drawn = draw(request.bench.scatters, request.seed, i);
      const auto curves = request.bench.predict(drawn.part(), {});
      for (std::size_t f = 0; f < forces_kn.size(); ++f)
        out[f][i] = press(request.bench, drawn, curves, forces_kn[f]);
    }
  });
  return out;
}

template <typename Take>
std::vector<double> of_closed(const std::vector<Pressed>& all, Take take) {
  std::vector<double> out;
  for (const Pressed& one : all)
    if (one.closed) out.push_back(take(one));
  return out;
}

ForceRow row_of(double target_kn, const std::vector<Pressed>& all, recipe::Band limits) {
  ForceRow row;
  row.target_kn = target_kn;
  row.fittings = all.size();
  for (const Pressed& one : all) {
    row.closed += one.closed ? 1 : 0;
    row.rejected += one.cause == Cause::none ? 0 : 1;
    row.causes[static_cast<std::size_t>(one.cause)] += 1;
  }
  row.closed_share = exact_limits(row.closed, row.fittings, confidence);
  row.rejected_share = exact_limits(row.rejected, row.fittings, confidence);
  const auto sizes = of_closed(all, [](const Pressed& one) { return one.across_flats_mm; });
  row.across_flats_mm = moments(sizes);
  row.last_flats_mm = moments(of_closed(all, [](const Pressed& one) { return one.last_flats_mm; }));
  for (const Pressed& one : all)
    row.earlier_widest += one.closed && one.across_flats_mm > one.last_flats_mm ? 1 : 0;
  const Quantiles quantiles(sizes);
  for (std::size_t q = 0; q < told_shares.size(); ++q)
    row.across_flats_at_mm[q] = quantiles.at(told_shares[q]);
  if (sizes.size() > 1) {
    row.cpk = cpk(row.across_flats_mm.mean, row.across_flats_mm.deviation, limits);
    row.cpk_band = cpk_limits(row.cpk, sizes.size(), confidence);
    row.cpk_of_30 = cpk_limits(row.cpk, 30, confidence);
  }
  row.growth = moments(of_closed(all, [](const Pressed& one) { return one.growth; }));
  return row;
}

Histogram histogram_of(const std::vector<Pressed>& all) {
  const auto sizes = of_closed(all, [](const Pressed& one) { return one.across_flats_mm; });
  Histogram out;
  if (sizes.empty()) return out;
  const auto [least, most] = std::minmax_element(sizes.begin(), sizes.end());
  // Edges at round values, some 30 bars.
  for (const double width_mm : {0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2}) {
    out.width_mm = width_mm;
    if ((*most - *least) / width_mm <= 40) break;
  }
  out.first_edge_mm = std::floor(*least / out.width_mm) * out.width_mm;
  out.counts.assign(static_cast<std::size_t>((*most - out.first_edge_mm) / out.width_mm) + 1, 0);
  for (const double size : sizes)
    out.counts[static_cast<std::size_t>((size - out.first_edge_mm) / out.width_mm)] += 1;
  return out;
}

Sensitivity sensitivity_of(const Request& request, const Looks& looks, const std::vector<Pressed>& all,
                           double at_kn) {
  Sensitivity out;
  out.at_kn = at_kn;
  std::vector<double> sizes, growths;
  std::array<std::vector<double>, scatter_count> units;
  const auto& gauge = request.bench.scatters[index_of(PressInput::size_gauge)];
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!all[i].closed) continue;
    const double error_mm = value_at(gauge, looks.units[index_of(PressInput::size_gauge)][i]);
    sizes.push_back(all[i].across_flats_mm + error_mm);
    growths.push_back(all[i].growth);
    for (std::size_t s = 0; s < scatter_count; ++s) units[s].push_back(looks.units[s][i]);
  }
  out.fittings = sizes.size();
  out.across_flats_deviation_mm = moments(sizes).deviation;
  out.growth_deviation = moments(growths).deviation;
  out.force_deviation_kn = moments(looks.needed_kn).deviation;
  for (std::size_t s = 0; s < scatter_count; ++s) {
    if (request.bench.scatters[s].half_width == 0) continue;
    out.across_flats[s] = variance_share(units[s], sizes);
    out.growth[s] = variance_share(units[s], growths);
    out.force[s] = variance_share(looks.units[s], looks.needed_kn);
  }
  return out;
}

Gaps fan_gaps(const Bench& bench) {
  Gaps out;
  Drawn centre;
  for (std::size_t s = 0; s < scatter_count; ++s) centre.values[s] = bench.scatters[s].centre;
  for (const PassCurve& curve : bench.predict(centre.part(), {})) {
    std::vector<double> gaps;
    for (std::size_t g = 0; g < fan_points; ++g)
      gaps.push_back(curve.touch_gap_mm * (1 - static_cast<double>(g) / (fan_points - 1)));
    out.push_back(std::move(gaps));
  }
  return out;
}

void fill_draft_bands(const Request& request, const Looks& looks, const std::vector<Pressed>& all,
                      Report& report) {
  const prediction::SurfaceError& error = request.model_error;
  for (std::size_t p = 0; p < request.envelope_gaps_mm.size(); ++p) {
    std::vector<recipe::ForceAtGap> pass;
    for (std::size_t g = 0; g < request.envelope_gaps_mm[p].size(); ++g) {
      const double gap_mm = request.envelope_gaps_mm[p][g];
      const double touch_mm = p < report.fans.size() ? report.fans[p].gap_mm.front() : 0;
      // Near first contact, where there is hardly any force, a relative error means nothing.
      const double error_here = std::min(1., force_error_at(error, p, touch_mm > 0 ? gap_mm / touch_mm : 0));
      const Quantiles forces(looks.envelope_kn[p][g]);
      pass.push_back({gap_mm, {forces.at(tail) * (1 - error_here), forces.at(1 - tail) * (1 + error_here)}});
    }
    report.envelope.push_back(std::move(pass));
  }
  const Quantiles growths(of_closed(all, [](const Pressed& one) { return one.growth; }));
  const Quantiles seconds(of_closed(all, [](const Pressed& one) { return one.second_pass_growth; }));
  report.growth_band = {std::max(0., growths.at(tail) - error.growth), growths.at(1 - tail) + error.growth};
  report.growth_second_pass_least = std::max(0., seconds.at(tail) - error.growth);
}

}  // namespace

double force_error_at(const prediction::SurfaceError& error, std::size_t pass, double gap_share) {
  if (pass >= error.force_by_gap.size() || error.force_by_gap[pass].empty()) return error.force;
  const auto& errors = error.force_by_gap[pass];
  const double place = std::clamp(1 - gap_share, 0., 1.) * static_cast<double>(errors.size() - 1);
  const auto low = static_cast<std::size_t>(place);
  return std::max(errors[low], errors[std::min(low + 1, errors.size() - 1)]);
}

double centre_closing_kn(const Bench& bench) {
  Drawn centre;
  for (std::size_t s = 0; s < prediction::input_count; ++s) centre.values[s] = bench.scatters[s].centre;
  return target_needed_kn(bench, centre, bench.predict(centre.part(), {}));
}

double sure_gap_mm(const Bench& bench) {
  const auto& sensor = bench.scatters[index_of(PressInput::gap_sensor)];
  return std::max(0., bench.joined.recipe.closed_gap_mm - sensor.centre - sensor.half_width);
}

prediction::Part corner_part(const Bench& bench) {
  prediction::Part centre;
  for (std::size_t s = 0; s < prediction::input_count; ++s) centre.values[s] = bench.scatters[s].centre;
  const auto force = [&](const prediction::Part& part) {
    double most = 0;
    for (const PassCurve& curve : bench.predict(part, {}))
      most = std::max(most, curve.force_at(sure_gap_mm(bench)));
    return most;
  };
  prediction::Part corner = centre;
  for (std::size_t s = 0; s < prediction::input_count; ++s) {
    const double half = bench.scatters[s].half_width;
    if (half == 0) continue;
    prediction::Part up = centre, down = centre;
    up.values[s] += half;
    down.values[s] -= half;
    corner.values[s] = force(up) >= force(down) ? up.values[s] : down.values[s];
  }
  corner[Input::grip] = 1;
  return corner;
}

std::vector<double> chosen_forces_kn(const Bench& bench) {
  const double closing_kn = centre_closing_kn(bench);
  std::vector<double> out;
  const auto add = [&](double force_kn) {
    const double rounded_kn = std::min(settable_kn(force_kn), bench.ceiling_kn);
    if (out.empty() || rounded_kn > out.back()) out.push_back(rounded_kn);
  };
  for (const double share : {0.6, 0.7, 0.78}) add(share * closing_kn);
  for (int step = 0; step <= 12; ++step) add((0.84 + 0.04 * step) * closing_kn);
  // The overshoot meets the force limit in the last steps below the ceiling.
  const double from_kn = out.back(), last_kn = bench.ceiling_kn;
  for (const double share : {0.25, 0.5, 0.75}) add(std::lerp(from_kn, last_kn, share));
  for (const double share : {0.98, 0.99, 1.}) add(share * last_kn);
  return out;
}

Report run(const Request& request) {
  const Bench& bench = request.bench;
  const recipe::Recipe& recipe = bench.joined.recipe;
  Report report;
  report.joined = bench.joined;
  report.has_forces = recipe.target_force_kn > 0;
  report.seed = request.seed;
  report.fittings = request.fittings;
  report.scatters = bench.scatters;
  report.engaged_mm = bench.engaged_mm;
  report.model_error = request.model_error;
  report.limit_ratio = bench.limit_ratio;
  report.uncertainty_mm = size_uncertainty_mm(bench.joined);
  report.envelope_judged = bench.judge_envelope;
  report.centre_closing_kn = centre_closing_kn(bench);

  const Gaps gaps_mm = fan_gaps(bench);
  const Looks looks = look_at_all(request, gaps_mm);
  for (std::size_t p = 0; p < gaps_mm.size(); ++p)
    report.closing_error = std::max(report.closing_error, force_error_at(request.model_error, p, 0.02));
  report.window = window_of(bench, looks.against_kn, request.corner_n_per_mm, report.closing_error);
  report.window.corner = request.corner;
  for (std::size_t p = 0; p < gaps_mm.size(); ++p) {
    Fan fan{gaps_mm[p], {}, {}, {}};
    for (const auto& forces_kn : looks.fan_kn[p]) {
      const Quantiles forces(forces_kn);
      fan.low_kn.push_back(forces.at(0.05));
      fan.mid_kn.push_back(forces.at(0.50));
      fan.high_kn.push_back(forces.at(0.95));
    }
    report.fans.push_back(std::move(fan));
  }
  {
    prediction::Part centre;
    for (std::size_t s = 0; s < prediction::input_count; ++s) centre.values[s] = bench.scatters[s].centre;
    const auto curves = bench.predict(centre, {});
    if (!curves.empty()) report.die_opening_mm = die_opening_mm(curves.back().force_at(0));
  }

  std::vector<double> forces_kn = request.forces_kn.empty() ? chosen_forces_kn(bench) : request.forces_kn;
  const std::size_t swept = forces_kn.size();
  const double looked_at_kn = report.window.empty ? report.window.upper_kn : report.window.recommended_kn;
  forces_kn.push_back(looked_at_kn);
  if (report.has_forces) forces_kn.push_back(recipe.target_force_kn);
  const auto all = press_all(request, forces_kn);
  for (std::size_t f = 0; f < swept; ++f)
    report.rows.push_back(row_of(forces_kn[f], all[f], recipe.across_flats_mm));
  const auto& looked_at = all[swept];
  if (!report.window.empty) report.recommended = row_of(looked_at_kn, looked_at, recipe.across_flats_mm);
  if (report.has_forces) report.present = row_of(recipe.target_force_kn, all.back(), recipe.across_flats_mm);
  report.across_flats = histogram_of(looked_at);
  report.sensitivity = sensitivity_of(request, looks, looked_at, looked_at_kn);
  fill_draft_bands(request, looks, looked_at, report);
  return report;
}

}  // namespace shankwright::trial
