#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <iostream>
#include <map>

#include "faulty_fittings.hpp"

// Goal: say in figures how often the diagnosis is right, for README.md. Method: simulated fittings with one
// thing wrong, drawn from a printed seed, told by traces alone; before any accepted part, and after some.

using namespace shankwright;
using namespace shankwright::tests;
using diagnosis::Hypothesis;

namespace {

struct Options {
  std::vector<std::string> recipes{"straight-shank-1-8-7x19", "straight-shank-5-1x19",
                                   "straight-shank-3-32-7x7"};
  std::uint64_t seed = 20261101;
  int good = 200, faulty = 20, learned = 20, swept = 0;
  bool talk = false, habits = false, residuals = false, wrong = false;
};

struct Row {
  int all = 0, unread = 0, right = 0, in_group = 0, held_good = 0;
  std::map<Hypothesis, int> told;
};

std::uint64_t seed_of(std::uint64_t seed, std::size_t kind, int number) {
  return seed * 1'000'003 + kind * 10'007 + static_cast<std::uint64_t>(number);
}

void judge(Row& row, const diagnosis::Diagnosis& diagnosis, Hypothesis truth) {
  ++row.all;
  ++row.told[diagnosis.most_likely];
  if (diagnosis.most_likely == truth) ++row.right;
  if (std::find(diagnosis.group.begin(), diagnosis.group.end(), truth) != diagnosis.group.end())
    ++row.in_group;
}

void print(const std::string& title, const std::vector<FaultKind>& kinds, const std::vector<Row>& rows) {
  fmt::print("\n{}\n{:<30}{:>6}{:>7}{:>7} ", title, "truth", "bites", "right%", "group%");
  for (std::size_t h = 0; h < diagnosis::hypothesis_count; ++h)
    fmt::print("{:>6}", std::string(diagnosis::name_of(static_cast<Hypothesis>(h))).substr(0, 5));
  fmt::print("\n");
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    const Row& row = rows[k];
    if (row.all == 0) continue;
    const auto percent = [&](int part) { return 100.0 * part / row.all; };
    const std::string range = kinds[k].most > 0 && kinds[k].truth != Hypothesis::wrong_die
                                  ? fmt::format("{} {:g}..{:g}", kinds[k].name, kinds[k].least, kinds[k].most)
                                  : kinds[k].name;
    fmt::print("{:<30}{:>6}{:>7.1f}{:>7.1f} ", range.substr(0, 29), row.all, percent(row.right),
               percent(row.in_group));
    for (std::size_t h = 0; h < diagnosis::hypothesis_count; ++h) {
      const auto told = row.told.find(static_cast<Hypothesis>(h));
      fmt::print("{:>6}", told == row.told.end() ? 0 : told->second);
    }
    if (row.unread > 0) fmt::print("  unread {}", row.unread);
    fmt::print("\n");
  }
}

struct Swept {
  const char* name;
  std::vector<double> sizes;
};

/// How often the first bite is told to be no good one, and rightly, against the size of the fault.
void sweep(const recipe::JoinedRecipe& joined, const diagnosis::Forecast& forecast,
           const diagnosis::Experience& before, const diagnosis::Experience& after, const Options& options) {
  const std::vector<Swept> all{{"shank over band, mm", {0, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3}},
                               {"shank under band, mm", {0, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3}},
                               {"friction", {0.14, 0.18, 0.22, 0.26, 0.3, 0.35, 0.4, 0.45}},
                               {"gap reads more, mm", {0.01, 0.02, 0.03, 0.05, 0.1, 0.2}},
                               {"gap reads less, mm", {0.03, 0.06, 0.1, 0.15, 0.2, 0.3}}};
  for (const Swept& swept : all) {
    fmt::print("{:<24}", swept.name);
    for (const double size : swept.sizes) {
      Wrong wrong;
      const std::string name = swept.name;
      if (name.starts_with("shank over"))
        wrong.part.shank_diameter_mm = joined.terminal.shank_diameter_mm.most + size;
      if (name.starts_with("shank under"))
        wrong.part.shank_diameter_mm = joined.terminal.shank_diameter_mm.least - size;
      if (name.starts_with("friction")) wrong.part.friction = size;
      if (name.starts_with("gap reads more")) wrong.press.gap_offset_mm = size;
      if (name.starts_with("gap reads less")) wrong.press.gap_offset_mm = -size;
      int told_before = 0, told_after = 0;
      for (int i = 0; i < options.swept; ++i) {
        const auto one = traced(press_fitting(joined, wrong, seed_of(options.seed, 200, i)).front(), joined);
        if (!one) continue;
        told_before += diagnosis::diagnose(forecast, before, *one).most_likely != Hypothesis::good;
        told_after += diagnosis::diagnose(forecast, after, *one).most_likely != Hypothesis::good;
      }
      fmt::print("  {:g}: {:.0f}/{:.0f}", size, 100.0 * told_before / options.swept,
                 100.0 * told_after / options.swept);
    }
    fmt::print("\n");
  }
  fmt::print("(per cent told to be no good bite, before/after learning)\n");
}

void run(const library::Library& library, const std::string& id, const Options& options) {
  const auto joined = library::join(library, id).value();
  const auto dies = other_dies_mm(library, joined);
  const auto began = std::chrono::steady_clock::now();
  diagnosis::ForecastSetting setting;
  setting.joined = joined;
  setting.other_dies_mm = dies;
  setting.threads = 2;
  const auto forecast = diagnosis::forecast(setting);
  if (!forecast) {
    std::cerr << forecast.problem().text() << '\n';
    return;
  }
  const auto built = std::chrono::steady_clock::now();
  fmt::print("\n== {}: seed {}, forecast of {} cases in {:.1f} s, surface error {:.3f}\n", id, options.seed,
             forecast.value().cases.size(), std::chrono::duration<double>(built - began).count(),
             forecast.value().surface->error().force);

  const auto before = diagnosis::no_experience(joined);
  auto after = before;
  for (int i = 0; i < options.learned; ++i) {
    std::vector<diagnosis::TracedBite> bites;
    for (const auto& bite : press_fitting(joined, {}, seed_of(options.seed, 99, i)))
      if (auto one = traced(bite, joined)) bites.push_back(std::move(*one));
    diagnosis::learn(after, forecast.value(), bites);
  }

  for (std::size_t pass = 0; pass < after.by_pass.size(); ++pass)
    fmt::print("pass {}: accepted parts scatter {:.2f} times as wide as told (variance)\n", pass + 1,
               after.by_pass[pass].widening());
  const auto kinds = fault_kinds(joined);
  std::map<std::pair<int, bool>, std::vector<Row>> tables;  // pass, learned
  for (const int pass : {1, 2})
    for (const bool learned : {false, true}) tables[{pass, learned}].resize(kinds.size());
  double seconds = 0;
  int diagnoses = 0;
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    const int count = kinds[k].truth == Hypothesis::good ? options.good : options.faulty;
    for (int i = 0; i < count; ++i) {
      const double share = (i + 0.5) / count;
      const auto bites =
          press_fitting(joined, wrong_of(kinds[k], share, joined, dies), seed_of(options.seed, k, i));
      for (const auto& bite : bites) {
        // Solid under the die is under the first bite of a pass only.
        if (kinds[k].truth == Hypothesis::solid_in_die && bite.bite > 0) continue;
        const auto one = traced(bite, joined);
        for (const bool learned : {false, true}) {
          Row& row = tables[{bite.pass, learned}][k];
          if (!one) {
            ++row.unread;
            continue;
          }
          const auto from = std::chrono::steady_clock::now();
          const auto told = diagnosis::diagnose(forecast.value(), learned ? after : before, *one);
          seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
          ++diagnoses;
          judge(row, told, kinds[k].truth);
          if (options.habits && learned && bite.pass == 1)
            fmt::print(
                "  habit {} p{} b{} approach {:.3f} squeeze {:.3f} lost {:.3f} touch {:.3f} end {:.4f} rise "
                "{:.4f} quick {:.2f}\n",
                kinds[k].name, bite.pass, bite.bite, one->reading.approach_mm_s.value_or(0),
                one->reading.squeeze_mm_s.value_or(0), one->reading.lost_travel_mm.value_or(0),
                one->reading.touch_gap_mm.value_or(0), one->reading.end_gap_mm, one->reading.end_rise_mm,
                one->reading.quickening.value_or(0));
          if (options.residuals && (i < 2 || told.most_likely != kinds[k].truth)) {
            const auto& experience = learned ? after : before;
            const auto measured =
                diagnosis::measured_of(one->reading, diagnosis::looked_at_mm(forecast.value(), bite.pass));
            const auto expected =
                diagnosis::expected_of(forecast.value(), forecast.value().cases.front(), one->place,
                                       experience.of_pass(bite.pass), one->reading, measured);
            const auto covariance = expected.covariance(experience.of_pass(bite.pass), 0);
            fmt::print("  residuals p{} b{} {}:", bite.pass, bite.bite, learned ? "after" : "before");
            for (Eigen::Index r = 0; r < measured.values.size(); ++r)
              fmt::print(" {:.1f}/{:.2f}", measured.values[r] - expected.mean[r],
                         std::sqrt(covariance(r, r)));
            const Eigen::VectorXd residual = measured.values - expected.mean;
            fmt::print(" square {:.1f} of {}\n", residual.dot(covariance.ldlt().solve(residual)),
                       residual.size());
          }
          if ((options.talk && i < 2) || (options.wrong && told.most_likely != kinds[k].truth))
            fmt::print("  [{} p{} b{} {}] {} P(good)={:.3f} misfit {:.1f}\n", kinds[k].name, bite.pass,
                       bite.bite, learned ? "after" : "before", told.sentence, told.probability[0],
                       told.misfit);
        }
      }
    }
  }
  for (const auto& [key, rows] : tables)
    print(fmt::format("{} pass {}, {}", id, key.first,
                      key.second ? fmt::format("after {} accepted fittings", options.learned)
                                 : "before any accepted fitting"),
          kinds, rows);
  if (options.swept > 0) sweep(joined, forecast.value(), before, after, options);
  fmt::print("{:.1f} ms a diagnosis\n", 1000 * seconds / std::max(1, diagnoses));
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"How often the trace diagnosis is right on simulated fittings"};
  Options options;
  app.add_option("--recipe", options.recipes, "Recipe ids");
  app.add_option("--seed", options.seed, "Seed of everything drawn")->capture_default_str();
  app.add_option("--good", options.good, "Good fittings a recipe")->capture_default_str();
  app.add_option("--faulty", options.faulty, "Fittings a fault kind")->capture_default_str();
  app.add_option("--learned", options.learned, "Accepted fittings learned from")->capture_default_str();
  app.add_option("--sweep", options.swept, "Also: share told against size, this many fittings a size");
  app.add_flag("--talk", options.talk, "Print what is said of the first two of each kind");
  app.add_flag("--habits", options.habits, "Print how the machine moved in each bite");
  app.add_flag("--residuals", options.residuals, "Print how good bites differ from the forecast, kN and mm");
  app.add_flag("--wrong", options.wrong, "Print what is said of each told wrongly");
  CLI11_PARSE(app, argc, argv);
  const auto library = library::load(std::string(SOURCE_DIR) + "/recipes");
  for (const auto& id : options.recipes) run(library, id, options);
  return 0;
}
