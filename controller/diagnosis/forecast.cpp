#include "diagnosis/forecast.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <thread>

#include "prediction/run.hpp"

namespace shankwright::diagnosis {
namespace {

using prediction::Filling;
using prediction::Input;
using prediction::Part;
using prediction::PassCurve;

/// Fault sizes, stated in README.md. Shank: mm beyond the drawing's band. Friction: Coulomb. Metal: share of
/// the recipe's rope. Gap: mm. Die: mm across flats, where the shop's other pairs are not known.
constexpr std::array shank_runs_mm{0.15, 0.40};
constexpr std::array shank_sizes_mm{0.08, 0.12, 0.16, 0.20, 0.25, 0.30, 0.35, 0.40};
constexpr std::array friction_runs{0.20, 0.30, 0.40};
constexpr std::array friction_sizes{0.18, 0.22, 0.26, 0.30, 0.35, 0.40};
constexpr std::array less_metal_runs{0.55, 0.78};
constexpr std::array less_metal_sizes{0.50, 0.57, 0.64, 0.71, 0.78, 0.85};
constexpr std::array more_metal_runs{1.15, 1.43};
constexpr std::array more_metal_sizes{1.12, 1.18, 1.25, 1.32, 1.40, 1.48};
constexpr double metal_factor_most = 0.75;  // 0.785 is a solid bar
constexpr double worn_mm = 0.13;            // the pair itself, worn open
constexpr std::array die_sizes_mm{-1.2, -0.8, -0.5, -0.25, worn_mm, 0.25, 0.5, 0.8, 1.2};
constexpr std::array solid_shares{0.15, 0.25, 0.4, 0.6, 0.8, 1.0};
constexpr std::array gap_offsets_mm{-0.4, -0.3, -0.2, -0.15, -0.1, -0.06, 0.03,
                                    0.06, 0.1,  0.15, 0.2,   0.3,  0.4};
constexpr std::array gap_mm_per_mn{0.15, 0.3, 0.5, 0.8, 1.2};
constexpr std::array pump_shares{0.95, 0.9, 0.8, 0.65, 0.45, 0.2};
constexpr std::array air_travels_mm{0.3, 0.6, 1.0, 1.6, 2.4, 3.5};

// A reading below the true gap shows on every closing of empty dies, and its trace is nearly an undersize
// shank's: that comes first unless the pressure's rise says otherwise.
constexpr double short_reading_weight = 0.15;
constexpr double odd_share = 0.1;

struct Job {
  Filling filling;
  Part part;
  double stop_gap_mm = 0;
  int passes = 1;
  std::vector<PassCurve> curves;  // empty when the model could not follow
};

double standard_deviation(const prediction::Scatter& scatter) {
  return scatter.half_width / (scatter.shape == prediction::Scatter::Shape::normal ? 3.0 : std::sqrt(3.0));
}

std::vector<double> mixed(const std::vector<double>& one, const std::vector<double>& other, double share) {
  std::vector<double> out(std::min(one.size(), other.size()));
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = one[i] + share * (other[i] - one[i]);
  return out;
}

/// Between two runs, or a little beyond the second.
std::vector<PassCurve> between(const std::vector<PassCurve>& one, const std::vector<PassCurve>& other,
                               double share) {
  std::vector<PassCurve> out;
  for (std::size_t pass = 0; pass < std::min(one.size(), other.size()); ++pass) {
    PassCurve curve = one[pass];
    curve.touch_gap_mm += share * (other[pass].touch_gap_mm - curve.touch_gap_mm);
    curve.force_n_per_mm = mixed(one[pass].force_n_per_mm, other[pass].force_n_per_mm, share);
    curve.growth_loaded = mixed(one[pass].growth_loaded, other[pass].growth_loaded, share);
    out.push_back(std::move(curve));
  }
  return out;
}

/// Curves at `size` from runs at known sizes, in order; the first of them may be the good middle.
std::vector<PassCurve> at_size(const std::vector<std::pair<double, const std::vector<PassCurve>*>>& runs,
                               double size) {
  std::vector<std::pair<double, const std::vector<PassCurve>*>> usable;
  for (const auto& run : runs)
    if (!run.second->empty()) usable.push_back(run);
  if (usable.size() < 2) return {};
  std::sort(usable.begin(), usable.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::size_t above = 1;
  while (above + 1 < usable.size() && usable[above].first < size) ++above;
  const auto& [low, low_curves] = usable[above - 1];
  const auto& [high, high_curves] = usable[above];
  return between(*low_curves, *high_curves, (size - low) / (high - low));
}

/// Below the gap at which a run was stopped: straight on.
void carry_on(PassCurve& curve, double stop_gap_mm) {
  if (stop_gap_mm <= 0) return;
  auto& force = curve.force_n_per_mm;
  const double step_mm = curve.touch_gap_mm / static_cast<double>(force.size() - 1);
  const auto last =
      std::min(force.size() - 1, static_cast<std::size_t>((curve.touch_gap_mm - stop_gap_mm) / step_mm));
  const std::size_t back = last > 4 ? 4 : last;
  if (back == 0) return;
  const double rise = std::max(0.0, (force[last] - force[last - back]) / static_cast<double>(back));
  for (std::size_t i = last + 1; i < force.size(); ++i) force[i] = force[i - 1] + rise;
}

/// A die the model cannot follow: the good first pass's force over the travel since contact, carried straight
/// on.
std::vector<PassCurve> shifted(const PassCurve& good, double die_offset_mm) {
  PassCurve out = good;
  out.touch_gap_mm = std::max(0.0, good.touch_gap_mm - 2 * die_offset_mm);
  const std::size_t last = out.force_n_per_mm.size() - 1;
  const double step_mm = good.touch_gap_mm / static_cast<double>(last);
  const double slope = (good.force_n_per_mm[last] - good.force_n_per_mm[last - 4]) / (4 * step_mm);
  for (std::size_t i = 0; i <= last; ++i) {
    const double travel_mm = out.touch_gap_mm * static_cast<double>(i) / static_cast<double>(last);
    const double beyond_mm = travel_mm - good.touch_gap_mm;
    out.force_n_per_mm[i] = beyond_mm > 0 ? good.force_n_per_mm[last] + slope * beyond_mm
                                          : good.force_at(good.touch_gap_mm - travel_mm);
    out.growth_loaded[i] = good.growth_at(std::max(0.0, good.touch_gap_mm - travel_mm));
  }
  return {out};
}

void share_weights(std::vector<Case>& cases) {
  PerHypothesis<double> count{};
  for (const Case& one : cases) count[static_cast<std::size_t>(one.hypothesis)] += one.weight;
  for (Case& one : cases) one.weight /= count[static_cast<std::size_t>(one.hypothesis)];
}

class Builder {
 public:
  Builder(const ForecastSetting& setting, Progress progress)
      : setting_(setting),
        progress_(std::move(progress)),
        population_(prediction::population_of(setting.joined)),
        filling_(prediction::filling_of(setting.joined)) {}

  Result<Forecast> build() {
    const int passes = std::max(1, setting_.joined.recipe.passes);
    const Part centre = population_.centre();
    if (!setting_.good_only) plan_jobs(centre, passes);

    prediction::SurfaceSetting surface_setting;
    surface_setting.joined = setting_.joined;
    surface_setting.filling = filling_;
    surface_setting.population = population_;
    surface_setting.passes = passes;
    surface_setting.threads = setting_.threads;
    const int alone = static_cast<int>(jobs_.size());
    auto surface = prediction::Surface::build(surface_setting, [&](int done, int all) {
      all_ = alone + all;
      if (progress_) progress_(done, all_);
      surface_runs_ = all;
    });
    if (!surface) return surface.problem();
    run_jobs();

    Forecast out;
    out.joined = setting_.joined;
    out.centre = surface.value().predict(centre);
    for (std::size_t i = 0; i < prediction::input_count; ++i) {
      const double deviation = standard_deviation(population_.inputs[i]);
      Part part = centre;
      part.values[i] += deviation;
      out.moved.push_back(deviation > 0 ? surface.value().predict(part) : std::vector<PassCurve>{});
    }
    out.surface = std::move(surface).value();
    Case good;
    good.curves = out.centre;
    out.cases.push_back(good);
    if (!setting_.good_only) {
      // Now and then a good part is odder than its tolerances say. Without a place of its own it would be
      // told as whatever fault is least sharply expected.
      Case odd = good;
      odd.weight = odd_share;
      odd.foreign = true;
      out.cases.push_back(odd);
      out.solid = jobs_[solid_].curves;
      add_cases(out, good);
    }
    share_weights(out.cases);
    return out;
  }

 private:
  std::size_t add_job(const Filling& filling, const Part& part, int passes, double stop_gap_mm = 0) {
    jobs_.push_back({filling, part, stop_gap_mm, passes, {}});
    return jobs_.size() - 1;
  }

  [[nodiscard]] std::vector<double> die_offsets_mm() const {
    const double own = setting_.joined.die_pair.across_flats_mm;
    const double shank = population_[Input::shank_diameter].centre;
    if (setting_.other_dies_mm.empty()) return {die_sizes_mm.begin(), die_sizes_mm.end()};
    // The two nearest on either side, and nothing within 0.1 mm: that is wear, not another pair.
    std::vector<double> below, above;
    for (const double die : setting_.other_dies_mm) {
      if (die < own - 0.1 && die > 0.3 * shank) below.push_back(die - own);
      if (die > own + 0.1 && die < shank + 3) above.push_back(die - own);
    }
    std::sort(below.rbegin(), below.rend());
    std::sort(above.begin(), above.end());
    below.resize(std::min<std::size_t>(below.size(), 2));
    above.resize(std::min<std::size_t>(above.size(), 2));
    below.push_back(worn_mm);
    below.insert(below.end(), above.begin(), above.end());
    return below;
  }

  void plan_jobs(const Part& centre, int passes) {
    empty_ = add_job({Filling::Kind::empty, 0}, centre, passes);
    solid_ = add_job({Filling::Kind::solid, 0}, centre, passes);
    const auto& shank = setting_.joined.terminal.shank_diameter_mm;
    for (const double size : shank_runs_mm) {
      Part part = centre;
      part[Input::shank_diameter] = shank.most + size;
      oversize_.push_back({size, add_job(filling_, part, passes)});
      part[Input::shank_diameter] = shank.least - size;
      undersize_.push_back({size, add_job(filling_, part, passes)});
    }
    for (const double friction : friction_runs) {
      Part part = centre;
      part[Input::friction] = friction;
      friction_.push_back({friction, add_job(filling_, part, passes)});
    }
    // Less metal in a rope's place is a thinner rope; in a strand's place a rope of the same diameter.
    const bool strand = setting_.joined.rope.construction == recipe::Construction::strand_1x19;
    for (const double share : less_metal_runs) {
      Part part = centre;
      if (!strand) part[Input::rope_diameter] *= std::sqrt(share);
      const double factor = strand ? share * filling_.metal_area_factor : filling_.metal_area_factor;
      metal_.push_back({share, add_job({Filling::Kind::rope, factor}, part, passes)});
    }
    for (const double share : more_metal_runs) {
      const double factor = std::min(metal_factor_most, share * filling_.metal_area_factor);
      metal_.push_back(
          {factor / filling_.metal_area_factor, add_job({Filling::Kind::rope, factor}, centre, passes)});
    }
    for (const double offset : die_offsets_mm()) {
      Part part = centre;
      part[Input::across_flats] += offset;
      if (part[Input::across_flats] >= part[Input::shank_diameter]) {
        far_dies_.push_back(offset);  // touches nothing
        continue;
      }
      // A die far too small is stopped by its force long before its faces meet; following it further proves
      // nothing.
      const double travel = 2 * (part[Input::shank_diameter] - setting_.joined.die_pair.across_flats_mm);
      const double stop = std::max(0.0, -2 * offset - 0.25 * travel);
      dies_.push_back({offset, add_job(filling_, part, stop > 0.3 ? 1 : passes, stop)});
    }
  }

  void run_jobs() {
    std::atomic<std::size_t> next{0};
    std::mutex telling;
    int done = 0;
    const auto work = [&] {
      for (std::size_t j = next++; j < jobs_.size(); j = next++) {
        Job& job = jobs_[j];
        mechanics::SqueezeInput input = prediction::squeeze_input(setting_.joined, job.filling, job.part);
        input.fineness = mechanics::Fineness::coarse;
        const auto run = prediction::run_section(input, job.passes, job.stop_gap_mm);
        if (run) job.curves = prediction::curves_of(run.value());
        for (PassCurve& curve : job.curves) carry_on(curve, job.stop_gap_mm);
        const std::scoped_lock lock(telling);
        ++done;
        if (progress_) progress_(surface_runs_ + done, all_);
      }
    };
    std::vector<std::jthread> others;
    for (unsigned t = 1; t < std::clamp(setting_.threads, 1u, 64u); ++t) others.emplace_back(work);
    work();
  }

  [[nodiscard]] std::vector<std::pair<double, const std::vector<PassCurve>*>> runs(
      const std::vector<std::pair<double, std::size_t>>& sized) const {
    std::vector<std::pair<double, const std::vector<PassCurve>*>> out;
    out.reserve(sized.size());
    for (const auto& [size, job] : sized) out.emplace_back(size, &jobs_[job].curves);
    return out;
  }

  void add_sized(Forecast& out, Hypothesis hypothesis, double size, std::vector<PassCurve> curves,
                 bool foreign) const {
    if (curves.empty()) return;
    Case one;
    one.hypothesis = hypothesis;
    one.size = size;
    one.curves = std::move(curves);
    one.foreign = foreign;
    out.cases.push_back(std::move(one));
  }

  void add_cases(Forecast& out, const Case& good) const {
    add_sized(out, Hypothesis::no_rope, 0, jobs_[empty_].curves, true);
    auto metal = runs(metal_);
    metal.emplace_back(1.0, &out.centre);
    for (const double share : less_metal_sizes)
      add_sized(out, Hypothesis::softer_construction, share, at_size(metal, share), true);
    for (const double share : more_metal_sizes)
      if (share * filling_.metal_area_factor <= metal_factor_most)
        add_sized(out, Hypothesis::harder_construction, share, at_size(metal, share), true);

    const auto& shank = setting_.joined.terminal.shank_diameter_mm;
    const double half_band = (shank.most - shank.least) / 2;
    auto over = runs(oversize_);
    over.emplace_back(-half_band, &out.centre);
    auto under = runs(undersize_);
    under.emplace_back(-half_band, &out.centre);
    for (const double size : shank_sizes_mm) {
      add_sized(out, Hypothesis::oversize_shank, size, at_size(over, size), false);
      add_sized(out, Hypothesis::undersize_shank, size, at_size(under, size), false);
    }

    auto friction = runs(friction_);
    friction.emplace_back(population_[Input::friction].centre, &out.centre);
    for (const double size : friction_sizes)
      add_sized(out, Hypothesis::dry_dies, size, at_size(friction, size), false);

    for (const auto& [offset, job] : dies_) {
      const auto& curves = jobs_[job].curves;
      add_sized(out, Hypothesis::wrong_die, offset,
                curves.empty() ? shifted(out.centre.front(), offset) : curves, std::abs(offset) > 0.3);
    }
    for (const double offset : far_dies_) {
      PassCurve nothing;  // no contact at all
      nothing.force_n_per_mm = nothing.growth_loaded = std::vector<double>(2, 0.0);
      add_sized(out, Hypothesis::wrong_die, offset, {nothing}, false);
    }

    if (!out.solid.empty())
      for (const double share : solid_shares) {
        Case one = good;
        one.hypothesis = Hypothesis::solid_in_die;
        one.size = one.solid_share = share;
        one.foreign = true;
        out.cases.push_back(one);
      }
    for (const double offset : gap_offsets_mm) {
      Case one = good;
      one.hypothesis = Hypothesis::frame_or_gap_sensor;
      one.size = one.gap_offset_mm = offset;
      if (offset < 0) one.weight = short_reading_weight;
      out.cases.push_back(one);
    }
    for (const double slope : gap_mm_per_mn) {
      Case one = good;
      one.hypothesis = Hypothesis::frame_or_gap_sensor;
      one.size = 0;
      one.gap_mm_per_kn = slope / 1000;
      one.weight = 2;  // fewer of them, no rarer
      out.cases.push_back(one);
    }
    for (const double share : pump_shares) {
      Case one = good;
      one.hypothesis = Hypothesis::weak_pump_or_air;
      one.size = one.pump_share = share;
      out.cases.push_back(one);
    }
    for (const double travel : air_travels_mm) {
      Case one = good;
      one.hypothesis = Hypothesis::weak_pump_or_air;
      one.size = one.air_travel_mm = travel;
      out.cases.push_back(one);
    }
  }

  const ForecastSetting& setting_;
  Progress progress_;
  prediction::Population population_;
  Filling filling_;
  std::vector<Job> jobs_;
  std::size_t empty_ = 0, solid_ = 0;
  std::vector<std::pair<double, std::size_t>> oversize_, undersize_, friction_, metal_, dies_;
  std::vector<double> far_dies_;
  int all_ = 0, surface_runs_ = 0;
};

}  // namespace

Result<Forecast> forecast(const ForecastSetting& setting, const Progress& progress) {
  return Builder(setting, progress).build();
}

}  // namespace shankwright::diagnosis
