#include "trial/whole.hpp"

#include <algorithm>

#include "mechanics/squeeze.hpp"
#include "trial/draft.hpp"

namespace shankwright::trial {
namespace {

constexpr std::size_t first_fittings = 1000;

/// Corner part's closing force per mm, straight from the section model: grip 1 lies outside the surface.
Result<std::vector<double>> corner_forces(const recipe::JoinedRecipe& joined, const prediction::Part& corner,
                                          double gap_mm) {
  mechanics::SqueezeInput input = prediction::squeeze_input(joined, prediction::filling_of(joined), corner);
  input.fineness = mechanics::Fineness::coarse;
  const auto course = mechanics::squeeze(input, {gap_mm});
  if (!course) return course.problem();
  std::vector<double> out(static_cast<std::size_t>(input.passes), 0);
  for (const auto& point : course.value().points) {
    if (point.gap_mm < gap_mm - 1e-9) continue;
    out[static_cast<std::size_t>(point.pass - 1)] = point.force_n_per_mm;
  }
  return out;
}

}  // namespace

Scatters assumed_scatters(const recipe::JoinedRecipe& joined) {
  return scatters_of(joined, prediction::population_of(joined));
}

Result<Report> run_whole(const WholeTrial& wanted, const WholeTrialWatch& watch) {
  prediction::SurfaceSetting setting;
  setting.joined = wanted.joined;
  setting.filling = prediction::filling_of(setting.joined);
  setting.population = prediction::population_of(setting.joined);
  setting.passes = setting.joined.recipe.passes;
  setting.threads = wanted.threads;
  const Scatters scatters =
      wanted.scatters ? *wanted.scatters : scatters_of(setting.joined, setting.population);
  std::copy_n(scatters.begin(), prediction::input_count, setting.population.inputs.begin());

  const auto surface = prediction::Surface::build(setting, [&](int done, int all) {
    if (watch.section_run) watch.section_run(done, all);
  });
  if (!surface) return surface.problem();
  Request request;
  request.bench = bench_of(
      setting.joined,
      [&surface](const prediction::Part& part, const std::vector<double>& stops_mm) {
        return surface.value().predict(part, stops_mm);
      },
      setting.population);
  request.bench.scatters = scatters;
  request.bench.judge_envelope = wanted.judge_envelope;
  request.model_error = surface.value().error();
  request.forces_kn = wanted.forces_kn;
  request.seed = wanted.seed;
  request.threads = wanted.threads;
  request.corner = corner_part(request.bench);
  request.envelope_gaps_mm = envelope_gaps_mm(request.bench);
  if (watch.pressing) watch.pressing(wanted.fittings);
  if (auto corner = corner_forces(setting.joined, request.corner, sure_gap_mm(request.bench)))
    request.corner_n_per_mm = std::move(corner).value();
  if (watch.first_report && wanted.fittings > first_fittings) {
    request.fittings = first_fittings;
    watch.first_report(run(request));
  }
  request.fittings = wanted.fittings;
  return run(request);
}

}  // namespace shankwright::trial
