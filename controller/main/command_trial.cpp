#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <optional>
#include <thread>

#include "library/library.hpp"
#include "main/commands.hpp"
#include "main/new_recipe.hpp"
#include "main/recipe_argument.hpp"
#include "quantity/quantity.hpp"
#include "trial/charts.hpp"
#include "trial/draft.hpp"
#include "trial/report_text.hpp"
#include "trial/whole.hpp"

namespace shankwright::command {
namespace {

namespace fs = std::filesystem;

constexpr auto about =
    "Finds the press force of a recipe in simulation, before the first trial piece is spoilt: presses "
    "thousands\n"
    "of fittings, drawn over the tolerances of shank, rope, dies, press and gauges, at many forces";

struct Options {
  std::string recipe, library = "recipes";
  std::string from, to;
  int steps = 0;
  std::size_t fittings = 20000;
  std::uint64_t seed = 1;
  unsigned threads = 0;
  std::vector<std::string> scatters;
  bool judge_envelope = false;
  std::string plots, save;
  bool as_data = false;
  NewRecipe fresh;
};

int fail(int code, const std::string& text) {
  std::cerr << "shankwright: " << text << '\n';
  return code;
}

Result<double> force_of(const std::string& option, const std::string& text) {
  auto force = quantity::parse_force_kn(text);
  if (!force) return Problem{option, force.problem().found, force.problem().expected};
  if (!(force.value() > 0)) return Problem{option, text, "a force above 0, for example 200 kN"};
  return force;
}

/// "grip=0.05..0.15": what the shop has measured instead of what is assumed.
std::optional<Problem> take_scatter(const std::string& text, trial::Scatters& scatters) {
  const std::size_t equals = text.find('=');
  const std::size_t dots = text.find("..");
  const Problem wrong{"--scatter", text,
                      "NAME=LEAST..MOST, for example grip=0.05..0.15 or bore=5.14mm..5.18mm"};
  if (equals == std::string::npos || dots == std::string::npos || dots < equals) return wrong;
  const std::string name = text.substr(0, equals);
  std::size_t which = 0;
  std::string known;
  for (; which < trial::scatter_count && trial::key_of(which) != name; ++which)
    known += fmt::format("{}{}", which == 0 ? "" : ", ", trial::key_of(which));
  if (which == trial::scatter_count) return Problem{"--scatter", name, "one of " + known};
  const auto read = [&](const std::string& value) -> Result<double> {
    if (trial::unit_of(which) == "mm") return quantity::parse_length_mm(value);
    if (trial::unit_of(which) == "%") return quantity::parse_fraction(value);
    double number = 0;
    const char* const end = value.data() + value.size();
    const auto [stop, error] = std::from_chars(value.data(), end, number);
    if (error != std::errc{} || stop != end) return Problem{"", value, "a plain number"};
    return number;
  };
  const auto least = read(text.substr(equals + 1, dots - equals - 1));
  const auto most = read(text.substr(dots + 2));
  for (const auto* side : {&least, &most})
    if (!*side) return Problem{"--scatter " + name, side->problem().found, side->problem().expected};
  if (least.value() > most.value()) return Problem{"--scatter " + name, text, "least..most"};
  scatters[which].centre = (least.value() + most.value()) / 2;
  scatters[which].half_width = (most.value() - least.value()) / 2;
  return std::nullopt;
}

/// A new file only: what exists is never written over. Gives what went wrong.
std::string write_new(const fs::path& file, const std::string& bytes) {
  std::FILE* const out = std::fopen(file.c_str(), "wxb");
  if (out == nullptr)
    return errno == EEXIST ? "it is there already, and nothing is written over" : std::strerror(errno);
  const bool whole = std::fwrite(bytes.data(), 1, bytes.size(), out) == bytes.size();
  const bool closed = std::fclose(out) == 0;
  return whole && closed ? "" : "it could not be written whole";
}

std::uint32_t next_revision(const fs::path& folder, const std::string& id, std::uint32_t present) {
  std::uint32_t newest = present;
  std::error_code error;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    const std::string name = at->path().filename().string();
    const std::string head = id + ".r";
    if (!name.starts_with(head) || !name.ends_with(".yaml")) continue;
    std::uint32_t number = 0;
    const auto [stop, wrong] =
        std::from_chars(name.data() + head.size(), name.data() + name.size() - 5, number);
    if (wrong == std::errc{} && stop == name.data() + name.size() - 5) newest = std::max(newest, number);
  }
  return newest + 1;
}

/// Writes the draft and has the library's own check look at it.
int save_draft(const trial::Report& report, const fs::path& where) {
  const std::string& id = report.joined.recipe.id;
  std::error_code error;
  fs::path file = where;
  fs::path folder = where;
  if (fs::is_directory(where, error)) {
    if (fs::is_directory(where / "recipes", error) && fs::is_directory(where / "ropes", error))
      folder = where / "recipes";
  } else {
    folder = where.has_parent_path() ? where.parent_path() : fs::path(".");
  }
  const std::uint32_t revision =
      next_revision(folder, id, report.has_forces ? report.joined.recipe.revision : 0);
  if (fs::is_directory(where, error)) file = folder / fmt::format("{}.r{}.yaml", id, revision);
  const std::string problem = write_new(file, trial::to_yaml(trial::draft_of(report, revision)));
  if (!problem.empty()) return fail(3, file.string() + ": " + problem);
  std::cerr << "Draft saved as " << file.string() << '\n';
  const auto checked = library::check_paths({file});
  for (const Problem& fault : checked.warnings) std::cerr << "warning: " << fault.text() << '\n';
  for (const Problem& fault : checked.faults) std::cerr << fault.text() << '\n';
  if (checked.faults.empty() && checked.unreadable.empty()) return 0;
  return fail(1, "the draft has faults; it is there to be mended by hand");
}

int draw_plots(const trial::Report& report, const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return fail(3, folder.string() + ": " + error.message());
  for (const auto& [name, figure] : trial::charts_of(report)) {
    for (const auto& [ending, bytes] : {std::pair<const char*, std::string>{".svg", figures::to_svg(figure)},
                                        {".png", figures::to_png(figure)}}) {
      const fs::path file = folder / (name + ending);
      std::ofstream out(file, std::ios::binary | std::ios::trunc);
      out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
      out.close();
      if (!out) return fail(3, file.string() + ": could not be written");
    }
  }
  return 0;
}

/// One line on a terminal that is written over; nothing elsewhere.
class Progress {
 public:
  void surface(int done, int all) const {
    if (shown_) fmt::print(stderr, "\rsection runs {} of {}   ", done, all);
  }
  void pressing(std::size_t fittings) const {
    if (shown_) fmt::print(stderr, "\rpressing {} fittings ...   ", fittings);
  }
  void end() const {
    if (shown_) fmt::print(stderr, "\r{:40}\r", "");
  }

 private:
  bool shown_ = ::isatty(STDERR_FILENO) == 1;
};

int run(const Options& options) {
  if (options.recipe.empty() == options.fresh.id.empty())
    return fail(2, "name one recipe, or one to be made with --new");
  if (options.from.empty() != options.to.empty() || (options.steps > 0 && options.from.empty()))
    return fail(2, "--from and --to go together, --steps with them");
  std::vector<double> forces_kn;
  if (!options.from.empty()) {
    const auto from = force_of("--from", options.from);
    const auto to = force_of("--to", options.to);
    for (const auto* side : {&from, &to})
      if (!*side) return fail(2, side->problem().text());
    if (from.value() >= to.value()) return fail(2, "--from is to be below --to");
    const int steps = options.steps > 0 ? options.steps : 16;
    for (int i = 0; i < steps; ++i)
      forces_kn.push_back(std::lerp(from.value(), to.value(), static_cast<double>(i) / (steps - 1)));
  }

  std::error_code error;
  if (!fs::is_directory(options.library, error) && fs::path(options.recipe).extension() != ".yaml")
    return fail(3, options.library + ": no such folder; --library names the engineering library");
  const auto joined = options.fresh.id.empty() ? recipe_argument(options.recipe, options.library)
                                               : begin_recipe(options.fresh, library::load(options.library));
  if (!joined) return fail(2, joined.problem().text());

  trial::WholeTrial wanted;
  wanted.joined = joined.value();
  wanted.forces_kn = forces_kn;
  wanted.judge_envelope = options.judge_envelope;
  wanted.fittings = options.fittings;
  wanted.seed = options.seed;
  wanted.threads = options.threads > 0 ? options.threads : std::max(1U, std::thread::hardware_concurrency());
  trial::Scatters scatters = trial::assumed_scatters(wanted.joined);
  for (const std::string& text : options.scatters)
    if (const auto problem = take_scatter(text, scatters)) return fail(2, problem->text());
  wanted.scatters = scatters;

  const Progress progress;
  trial::WholeTrialWatch watch;
  watch.section_run = [&](int done, int all) { progress.surface(done, all); };
  watch.pressing = [&](std::size_t fittings) { progress.pressing(fittings); };
  const auto whole = trial::run_whole(wanted, watch);
  progress.end();
  if (!whole) return fail(1, whole.problem().text());
  const trial::Report& report = whole.value();

  std::cout << (options.as_data ? trial::to_json(report) : trial::to_text(report)) << std::flush;
  if (!std::cout) return fail(3, "the output could not be written whole");
  if (!options.plots.empty())
    if (const int code = draw_plots(report, options.plots); code != 0) return code;
  if (report.window.empty) {
    if (!options.save.empty()) std::cerr << "No draft is saved: the window is empty\n";
    return 1;
  }
  if (!options.save.empty())
    if (const int code = save_draft(report, options.save); code != 0) return code;
  return trial::will_do(report) ? 0 : 1;
}

}  // namespace

void add_trial(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("trial", about);
  command->footer(
      "Every force is tried on the same fittings. The same seed gives the same answer on any number of "
      "threads.\n"
      "Examples:\n"
      "  shankwright trial straight-shank-3-16-7x19 --plots plots\n"
      "  shankwright trial straight-shank-3-16-7x19 --scatter grip=0.05..0.15 --save recipes\n"
      "  shankwright trial recipes/recipes/straight-shank-1-4-7x19.r2.yaml --from \"300 kN\" --to \"60 "
      "tonnef\"\n"
      "  shankwright trial --new my-3-16 --rope rope-3-16-7x19 --terminal straight-shank-3-16 --die "
      "hex-3-16\n"
      "    --press press-1 --go go-3-16 --no-go no-go-3-16 --save recipes\n"
      "Exit 0 when there is a force that does, 1 when there is none (no window, or more than 5 % rejected), "
      "2\n"
      "wrong usage or no such recipe, 3 a fault of the machine. The result is computed and proven on no "
      "real\n"
      "part. The terminal and rope makers' instructions, local codes and a competent person come first;\n"
      "Shankwright is not a safety function.");
  const auto options = std::make_shared<Options>();
  command->add_option("RECIPE", options->recipe,
                      "Id in the library, ID.rREVISION, or a recipe's file in one");
  command->add_option("--library", options->library, "Folder of the engineering library")
      ->capture_default_str();
  command->add_option("--from", options->from, "Least target force to try, with its unit")
      ->type_name("FORCE");
  command
      ->add_option("--to", options->to,
                   "Greatest; without both, 60 % of closing to the die's or press's limit")
      ->type_name("FORCE");
  command->add_option("--steps", options->steps, "How many forces between them, both included")
      ->check(CLI::Range(2, 100));
  command->add_option("--fittings", options->fittings, "Fittings drawn; each is pressed at every force")
      ->check(CLI::Range(1000, 200000))
      ->capture_default_str();
  command->add_option("--seed", options->seed, "Everything that is drawn comes from this number")
      ->capture_default_str();
  command->add_option("--threads", options->threads, "Threads; as many as there are cores when not given")
      ->check(CLI::Range(1, 64));
  command
      ->add_option(
          "--scatter", options->scatters,
          "NAME=LEAST..MOST instead of what is assumed (names: see --json, inputs); may be given again")
      ->type_name("RANGE");
  command->add_flag("--judge-envelope", options->judge_envelope,
                    "Reject what lies outside the recipe's present force envelope, too");
  command->add_option("--plots", options->plots, "Folder for pictures, SVG and PNG; made when missing")
      ->type_name("DIR");
  command
      ->add_option("--save", options->save,
                   "Write the next revision as a draft: a library, a folder, or a new file's name")
      ->type_name("DIR|FILE");
  command->add_flag("--json", options->as_data, "Print everything as JSON");
  add_new_recipe_options(*command, options->fresh);
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace shankwright::command
