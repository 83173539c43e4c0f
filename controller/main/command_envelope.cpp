#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <thread>

#include "diagnosis/envelope.hpp"
#include "main/recipe_argument.hpp"
#include "main/recipe_commands.hpp"
#include "main/stored_bites.hpp"
#include "record/store.hpp"

namespace shankwright::command {
namespace {

using diagnosis::Envelope;
using nlohmann::json;

struct Options {
  std::string recipe, library = "recipes", data;
  double inside_percent = 99.9;
  std::uint64_t seed = 1;
  bool own_gaps = false, as_data = false;
};

int fail(int code, const std::string& what) {
  std::cerr << "shankwright: " << what << '\n';
  return code;
}

std::string rests_on(const Envelope& envelope) {
  if (envelope.fittings == 0) return "the section model alone: no accepted fitting yet";
  return fmt::format("the section model and {} accepted fitting{}", envelope.fittings,
                     envelope.fittings == 1 ? "" : "s");
}

void print_yaml(const recipe::JoinedRecipe& joined, const Envelope& envelope, const Options& options) {
  std::cout << fmt::format(
      "  # Force while the dies close, for a whole die length of fresh shank.\n"
      "  # {} revision {}; rests on {}.\n"
      "  # {:g} % of good bites between least and most at each gap, by the drawings' tolerances, friction "
      "0.06 to 0.14,\n"
      "  # flow stress within 8 %, grip 0 to 0.22, sensors, and the model's own error. Seed {}.\n"
      "  # A draft to be proven: Shankwright is not a safety function; makers' instructions and a competent "
      "person come\n"
      "  # first.\n"
      "  envelope:\n",
      joined.recipe.id, joined.recipe.revision, rests_on(envelope), options.inside_percent, options.seed);
  for (std::size_t pass = 0; pass < envelope.by_pass.size(); ++pass) {
    std::cout << fmt::format("    - pass: {}\n      force:\n", pass + 1);
    for (const auto& point : envelope.by_pass[pass])
      std::cout << fmt::format(
          "        - {{gap: {:g} mm, least: {:.0f} kN, most: {:.0f} kN}}  # middle {:.0f} kN; parts {:.1f} "
          "%, model {:.1f} %\n",
          point.gap_mm, std::floor(point.least_kn), std::ceil(point.most_kn), point.middle_kn,
          100 * point.parts_share, 100 * point.model_share);
  }
}

json as_json(const recipe::JoinedRecipe& joined, const Envelope& envelope, const Options& options) {
  json out = {{"recipe", joined.recipe.id},    {"revision", joined.recipe.revision},
              {"fittings", envelope.fittings}, {"inside", options.inside_percent / 100},
              {"seed", options.seed},          {"passes", json::array()}};
  for (std::size_t pass = 0; pass < envelope.by_pass.size(); ++pass) {
    json points = json::array();
    for (const auto& point : envelope.by_pass[pass])
      points.push_back({{"gap_mm", point.gap_mm},
                        {"least_kn", point.least_kn},
                        {"middle_kn", point.middle_kn},
                        {"most_kn", point.most_kn},
                        {"parts_share", point.parts_share},
                        {"model_share", point.model_share}});
    out["passes"].push_back({{"pass", pass + 1}, {"force", std::move(points)}});
  }
  return out;
}

int run(const Options& options) {
  std::error_code error;
  if (!std::filesystem::is_directory(options.library, error) &&
      std::filesystem::path(options.recipe).extension() != ".yaml")
    return fail(3, options.library + ": no such folder; --library names the engineering library");
  const auto joined = recipe_argument(options.recipe, options.library);
  if (!joined) return fail(2, joined.problem().text());
  std::shared_ptr<record::SqliteStore> store;
  if (!options.data.empty()) {
    auto opened = record::SqliteStore::open_to_read(options.data);
    if (!opened) return fail(3, opened.problem().text());
    store = std::move(opened).value();
  }

  diagnosis::ForecastSetting setting;
  setting.joined = joined.value();
  setting.good_only = true;
  setting.threads = std::max(1U, std::thread::hardware_concurrency());
  const auto forecast = diagnosis::forecast(setting, forecast_progress());
  if (!forecast) return fail(1, forecast.problem().text());
  diagnosis::Experience experience = diagnosis::no_experience(joined.value());
  if (store) {
    auto learned = learned_from(*store, forecast.value(), 200);
    if (!learned) return fail(3, learned.problem().text());
    experience = std::move(learned).value();
  }
  diagnosis::EnvelopeSetting wanted;
  wanted.inside = options.inside_percent / 100;
  wanted.seed = options.seed;
  if (options.own_gaps)
    for (const auto& pass : joined.value().recipe.envelope) {
      auto& gaps = wanted.gaps_mm.emplace_back();
      for (const auto& point : pass) gaps.push_back(point.gap_mm);
    }
  const Envelope envelope = diagnosis::envelope_of(forecast.value(), experience, wanted);
  if (options.as_data)
    std::cout << as_json(joined.value(), envelope, options).dump(2) << '\n';
  else
    print_yaml(joined.value(), envelope, options);
  std::cout << std::flush;
  return std::cout ? 0 : fail(3, "the output could not be written whole");
}

}  // namespace

void add_recipe_envelope(CLI::App& recipe, int& exit_code) {
  CLI::App* const command = recipe.add_subcommand(
      "envelope", "Work out the forces a good bite shows, to paste into a recipe draft");
  command->footer(
      "Before any part is made it rests on the section model and its stated error. With --data it learns "
      "from accepted\n"
      "fittings of this recipe in that record: the model's error shrinks, parts and sensors stay. Held, "
      "re-pressed and\n"
      "scrapped fittings teach nothing.\n"
      "Examples:\n"
      "  shankwright recipe envelope straight-shank-1-8-7x19\n"
      "  shankwright recipe envelope straight-shank-1-8-7x19 --data data --own-gaps\n"
      "Exit 0 when printed, 1 when the model cannot follow the recipe's bite, 2 wrong usage, 3 when library "
      "or record\n"
      "cannot be read.\n"
      "Shankwright is not a safety function: makers' instructions, local codes and a competent person come "
      "first.");
  const auto options = std::make_shared<Options>();
  command->add_option("RECIPE", options->recipe, "Id, id.rREVISION, or path of a recipe file")->required();
  command->add_option("--library", options->library, "Engineering library")->capture_default_str();
  command->add_option("--data", options->data,
                      "Data folder of a station whose accepted fittings to learn from");
  command->add_option("--inside", options->inside_percent, "Per cent of good bites between least and most")
      ->check(CLI::Range(50.0, 99.9999))
      ->capture_default_str();
  command->add_option("--seed", options->seed, "Seed of the drawn parts")->capture_default_str();
  command->add_flag("--own-gaps", options->own_gaps, "At the gaps the recipe has now");
  command->add_flag("--json", options->as_data, "Print as JSON");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace shankwright::command
