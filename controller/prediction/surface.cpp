#include "prediction/surface.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <optional>
#include <thread>

#include "prediction/run.hpp"

namespace shankwright::prediction {
namespace {

/// The first pass stops here in the two runs that show what an unclosed first pass does to the later ones;
/// mm.
constexpr std::array<double, 2> stops_mm{0.12, 0.3};
constexpr double stop_most_mm = 0.4;

/// A tolerance of a few hundredths moves the force by less than two runs differ in the mesh's own roughness;
/// the runs of the expansion therefore lie at least this far from the centre. Share of the value, or the
/// value's own unit.
double step_of(Input input, const Scatter& scatter) {
  const auto least = [&](double step) { return std::max(scatter.half_width, step); };
  switch (input) {
    case Input::shank_diameter:
      return least(0.012 * scatter.centre);
    case Input::bore:
      return least(0.02 * scatter.centre);
    case Input::rope_diameter:
      return least(0.02 * scatter.centre);
    case Input::strength:
      return least(0.08);
    case Input::friction:
      return std::min(least(0.04), scatter.centre > 0 ? scatter.centre : 0.04);
    case Input::grip:
      return std::min(least(0.1), scatter.centre > 0 ? scatter.centre : 0.1);
    case Input::across_flats:
      return least(0.008 * scatter.centre);
  }
  return scatter.half_width;
}

/// The runs kept aside: all inputs at once, off the centre by these shares of their half width (signs chosen
/// so that no two inputs move together in all of them).
constexpr std::array<std::array<double, input_count>, 3> aside{{{0.7, -0.5, 0.6, 0.8, -0.7, 0.6, -0.5},
                                                                {-0.6, 0.6, 0.5, -0.7, -0.6, -0.8, 0.6},
                                                                {0.5, 0.7, -0.7, 0.6, 0.7, -0.5, 0.8}}};

struct Job {
  Part part;
  double first_stop_mm = 0;
};

}  // namespace

Result<Surface> Surface::build(const SurfaceSetting& setting, const Progress& progress) {
  Surface out;
  out.setting_ = setting;
  const Part centre = setting.population.centre();
  for (std::size_t i = 0; i < input_count; ++i) {
    const Scatter& scatter = setting.population.inputs[i];
    const auto input = static_cast<Input>(i);
    const bool of_rope = input == Input::rope_diameter || input == Input::grip;
    if (scatter.half_width <= 0 || (of_rope && setting.filling.kind != Filling::Kind::rope) ||
        (input == Input::bore && setting.filling.kind == Filling::Kind::solid))
      continue;
    out.varied_.push_back({i, scatter.centre, step_of(input, scatter)});
  }

  std::vector<Job> jobs{{centre, 0}};
  for (const Varied& varied : out.varied_)
    for (const double side : {1., -1.}) {
      Part part = centre;
      part.values[varied.input] += side * varied.step;
      jobs.push_back({part, 0});
    }
  const std::size_t stop_jobs = jobs.size();
  if (setting.passes > 1)
    for (const double stop : stops_mm) jobs.push_back({centre, stop});
  const std::size_t aside_jobs = jobs.size();
  if (!out.varied_.empty())
    for (const auto& shares : aside) {
      Part part = centre;
      for (const Varied& varied : out.varied_)
        part.values[varied.input] +=
            shares[varied.input] * setting.population.inputs[varied.input].half_width;
      jobs.push_back({part, 0});
    }

  std::vector<Numbers> runs(jobs.size());
  std::vector<std::optional<Problem>> problems(jobs.size());
  std::atomic<std::size_t> next{0};
  std::mutex telling;
  int done = 0;
  const auto work = [&] {
    for (std::size_t j = next++; j < jobs.size(); j = next++) {
      mechanics::SqueezeInput input = squeeze_input(setting.joined, setting.filling, jobs[j].part);
      input.fineness = setting.fineness;
      const Result<Numbers> run = run_section(input, setting.passes, jobs[j].first_stop_mm);
      if (run.ok())
        runs[j] = run.value();
      else
        problems[j] = run.problem();
      const std::scoped_lock lock(telling);
      ++done;
      if (progress) progress(done, static_cast<int>(jobs.size()));
    }
  };
  std::vector<std::jthread> others;
  for (unsigned t = 1; t < std::clamp(setting.threads, 1u, 64u); ++t) others.emplace_back(work);
  work();
  others.clear();  // joins
  for (const auto& problem : problems)
    if (problem) return *problem;

  const Numbers& base = runs[0];
  out.terms_.push_back(base);
  for (std::size_t v = 0; v < out.varied_.size(); ++v) {
    const Numbers& up = runs[1 + 2 * v];
    const Numbers& down = runs[2 + 2 * v];
    Numbers linear(base.size());
    Numbers square(base.size());
    for (std::size_t k = 0; k < base.size(); ++k) {
      linear[k] = (up[k] - down[k]) / 2;
      square[k] = (up[k] + down[k]) / 2 - base[k];
    }
    out.terms_.push_back(std::move(linear));
    out.terms_.push_back(std::move(square));
  }
  Numbers stop_linear(base.size(), 0.);
  Numbers stop_square(base.size(), 0.);
  if (setting.passes > 1) {
    const Numbers& near = runs[stop_jobs];
    const Numbers& far = runs[stop_jobs + 1];
    for (std::size_t k = numbers_in_pass; k < base.size();
         ++k) {  // the first pass itself is not theirs to tell
      const double to_near = (near[k] - base[k]) / stops_mm[0];
      const double to_far = (far[k] - base[k]) / stops_mm[1];
      stop_square[k] = (to_far - to_near) / (stops_mm[1] - stops_mm[0]);
      stop_linear[k] = to_near - stop_square[k] * stops_mm[0];
    }
  }
  out.terms_.push_back(std::move(stop_linear));
  out.terms_.push_back(std::move(stop_square));

  for (std::size_t j = aside_jobs; j < jobs.size(); ++j) {
    const auto truth = curves_of(runs[j]);
    const auto guess = out.predict(jobs[j].part);
    for (std::size_t p = 0; p < truth.size(); ++p) {
      if (out.error_.force_by_gap.size() <= p) out.error_.force_by_gap.emplace_back(gaps_in_curve, 0.);
      for (std::size_t i = 1; i < gaps_in_curve; ++i) {
        const double gap_mm = truth[p].touch_gap_mm * (1 - static_cast<double>(i) / (gaps_in_curve - 1));
        const double force = truth[p].force_at(gap_mm);
        if (force <= 0) continue;
        const double error = std::abs(guess[p].force_at(gap_mm) / force - 1);
        double& worst = out.error_.force_by_gap[p][i];
        worst = std::max(worst, error);
        if (i >= gaps_in_curve / 2) out.error_.force = std::max(out.error_.force, error);
      }
      out.error_.growth =
          std::max(out.error_.growth, std::abs(guess[p].growth_at(0) - truth[p].growth_at(0)));
      out.error_.width_mm =
          std::max({out.error_.width_mm, std::abs(guess[p].base_recoil_mm - truth[p].base_recoil_mm),
                    std::abs(guess[p].side_recoil_mm - truth[p].side_recoil_mm)});
    }
  }
  return out;
}

std::vector<PassCurve> Surface::predict(const Part& part, const std::vector<double>& stop_gaps_mm) const {
  Numbers sum = terms_.front();
  const auto add = [&](std::size_t term, double share) {
    if (share == 0) return;
    const Numbers& numbers = terms_[term];
    for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += share * numbers[k];
  };
  for (std::size_t v = 0; v < varied_.size(); ++v) {
    const double off = (part.values[varied_[v].input] - varied_[v].centre) / varied_[v].step;
    add(1 + 2 * v, off);
    add(2 + 2 * v, off * off);
  }
  if (!stop_gaps_mm.empty()) {
    const double stop = std::clamp(stop_gaps_mm.front(), 0., stop_most_mm);
    add(terms_.size() - 2, stop);
    add(terms_.size() - 1, stop * stop);
  }
  return curves_of(sum);
}

}  // namespace shankwright::prediction
