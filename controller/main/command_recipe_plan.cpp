#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <thread>

#include "main/recipe_argument.hpp"
#include "main/recipe_commands.hpp"
#include "prediction/recipe_plan.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::command {
namespace {

using nlohmann::json;
using prediction::RecipePlan;

struct Options {
  std::string recipe, library = "recipes";
  bool as_data = false;
};

const char* name_of(prediction::Caution caution) {
  using enum prediction::Caution;
  switch (caution) {
    case die_leaves_shank:
      return "die_leaves_shank";
    case rope_loose_in_bore:
      return "rope_loose_in_bore";
    case rope_too_thick:
      return "rope_too_thick";
    case rope_not_gripped:
      return "rope_not_gripped";
    case rope_overfills:
      return "rope_overfills";
    case flash:
      return "flash";
    case growth_outside:
      return "growth_outside";
    case across_flats_outside:
      return "across_flats_outside";
    case die_overloaded:
      return "die_overloaded";
    case little_margin:
      return "little_margin";
    case target_too_low:
      return "target_too_low";
    case limit_too_low:
      return "limit_too_low";
    case no_bite_plan:
      return "no_bite_plan";
  }
  return "";
}

json as_json(const prediction::PassForecast& pass) {
  return {{"pass", pass.pass},
          {"touch_gap_mm", pass.touch_gap_mm},
          {"closing_force_n_per_mm", pass.closing_force_n_per_mm},
          {"die_pressure_mpa", pass.die_pressure_mpa},
          {"growth", pass.growth},
          {"across_flats_mm", pass.across_flats_mm},
          {"earlier_flats_mm", pass.pass > 1 ? json(pass.earlier_flats_mm) : json(nullptr)},
          {"spring_back_mm", pass.spring_back_mm},
          {"die_stretch_mm", pass.die_stretch_mm},
          {"flash_mm", pass.flash_mm},
          {"rope_packing", pass.rope_packing},
          {"voids_closed", pass.voids_closed}};
}

json as_json(const recipe::JoinedRecipe& joined, const RecipePlan& plan) {
  json out = {{"recipe", joined.recipe.id},
              {"revision", joined.recipe.revision},
              {"target_kn", plan.target_kn},
              {"target_bar", plan.target_bar},
              {"needed_kn", plan.needed_kn},
              {"needed_bar", plan.needed_bar},
              {"needed_typical_kn", plan.needed_typical_kn},
              {"needed_gripped_kn", plan.needed_gripped_kn},
              {"allowance", plan.allowance_share}};
  const auto passes = [](const std::vector<prediction::PassForecast>& of) {
    json list = json::array();
    for (const auto& pass : of) list.push_back(as_json(pass));
    return list;
  };
  out["passes"] = passes(plan.passes);
  out["passes_strongest"] = passes(plan.passes_strongest);
  out["passes_weakest"] = passes(plan.passes_weakest);
  out["passes_gripped"] = passes(plan.passes_gripped);
  for (const char* list : {"bites", "margins", "warnings"}) out[list] = json::array();
  for (const auto& bite : plan.bites)
    out["bites"].push_back({{"pass", bite.pass},
                            {"bite", bite.bite},
                            {"edge_mm", bite.edge_mm},
                            {"fresh_mm", bite.fresh_mm},
                            {"under_die_mm", bite.under_die_mm},
                            {"closing_force_kn", bite.typical_kn},
                            {"closing_force_strongest_kn", bite.strongest_kn}});
  for (const auto& margin : plan.margins)
    out["margins"].push_back({{"of", margin.of}, {"limit_kn", margin.limit_kn}, {"share", margin.share}});
  for (const auto& warning : plan.warnings)
    out["warnings"].push_back({{"warning", name_of(warning.caution)}, {"text", warning.text}});
  return out;
}

void print_text(const recipe::JoinedRecipe& joined, const RecipePlan& plan) {
  const recipe::Recipe& r = joined.recipe;
  std::cout << fmt::format(
      "{}, revision {}\n  rope {} ({:.2f} to {:.2f} mm) in terminal {}, dies {} ({:.2f} mm, {:.0f} mm long), "
      "press {}\n\n",
      r.id, r.revision, joined.rope.id, joined.rope.diameter_mm.least, joined.rope.diameter_mm.most,
      joined.terminal.id, joined.die_pair.id, joined.die_pair.across_flats_mm, joined.die_pair.length_mm,
      joined.press.id);
  if (!plan.bites.empty()) {
    std::cout << "Force that closes the dies\n";
    std::cout << fmt::format("  typical part                  {:>7.0f} kN\n", plan.needed_typical_kn);
    std::cout << fmt::format(
        "  strongest plausible part      {:>7.0f} kN   {:.0f} bar on this press, {:.0f} % allowed for seal "
        "friction and sensor\n",
        plan.needed_kn, plan.needed_bar, 100 * plan.allowance_share);
    if (plan.needed_gripped_kn > 0)
      std::cout << fmt::format("  that, rope gripped at once    {:>7.0f} kN   {}\n", plan.needed_gripped_kn,
                               plan.needed_gripped_kn > plan.target_kn
                                   ? "dies would stay open, and the fitting be held"
                                   : "the target closes even that");
    std::cout << fmt::format("  target of the recipe          {:>7.0f} kN   {:.0f} bar\n\n", plan.target_kn,
                             plan.target_bar);
    std::cout << "What the target leaves free\n";
    for (const auto& margin : plan.margins)
      std::cout << fmt::format("  {:<30}{:>7.0f} kN   {:>5.1f} %\n", margin.of, margin.limit_kn,
                               100 * margin.share);
    std::cout << "\nAfter each pass, dies closed (typical part; in brackets weakest to strongest)\n";
    for (std::size_t p = 0; p < plan.passes.size(); ++p) {
      const auto& pass = plan.passes[p];
      const auto& low = plan.passes_weakest[p];
      const auto& high = plan.passes_strongest[p];
      std::cout << fmt::format(
          "  pass {}: across flats {:.3f} mm ({:.3f} to {:.3f}), growth {:.1f} % ({:.1f} to {:.1f})\n",
          pass.pass, pass.across_flats_mm, low.across_flats_mm, high.across_flats_mm, 100 * pass.growth,
          100 * low.growth, 100 * high.growth);
      if (pass.pass > 1)
        std::cout << fmt::format("          flats of the pass before {:.3f} mm ({:.3f} to {:.3f})\n",
                                 pass.earlier_flats_mm, low.earlier_flats_mm, high.earlier_flats_mm);
      std::cout << fmt::format(
          "          first touch at a gap of {:.2f} mm; mean pressure on the dies {:.0f} MPa ({:.0f} to "
          "{:.0f})\n",
          pass.touch_gap_mm, pass.die_pressure_mpa, low.die_pressure_mpa, high.die_pressure_mpa);
      std::cout << fmt::format(
          "          rope: {:.0f} % of its voids closed ({:.0f} to {:.0f}); void left {:.0f} % of the bore\n",
          100 * pass.voids_closed, 100 * low.voids_closed, 100 * high.voids_closed,
          100 * (1 - pass.rope_packing));
    }
    std::cout << "\nBites, from the bore end\n  pass  bite   die edge mm   fresh mm   under die mm   closes "
                 "at kN   strongest kN\n";
    for (const auto& bite : plan.bites)
      std::cout << fmt::format("  {:>4}{:>6}{:>14.1f}{:>11.1f}{:>15.1f}{:>15.0f}{:>15.0f}\n", bite.pass,
                               bite.bite, bite.edge_mm, bite.fresh_mm, bite.under_die_mm, bite.typical_kn,
                               bite.strongest_kn);
    std::cout << '\n';
  }
  for (const auto& warning : plan.warnings) std::cout << "warning: " << warning.text << '\n';
  std::cout << fmt::format(
      "{}. Computed, proven on no part: the makers' instructions, local codes and a competent person\ncome "
      "first; Shankwright is not a safety function.\n",
      plan.warnings.empty()
          ? "No warnings"
          : fmt::format("{} warning{}", plan.warnings.size(), plan.warnings.size() == 1 ? "" : "s"));
}

int plan(const Options& options) {
  const auto joined = recipe_argument(options.recipe, options.library);
  if (!joined.ok()) {
    std::cerr << "shankwright: " << joined.problem().text() << '\n';
    return 2;
  }
  const auto planned =
      prediction::plan_recipe(joined.value(), std::max(1u, std::thread::hardware_concurrency()));
  if (!planned.ok()) {
    std::cerr << "shankwright: " << planned.problem().text() << '\n';
    return 1;
  }
  if (options.as_data)
    std::cout << as_json(joined.value(), planned.value()).dump(2) << '\n';
  else
    print_text(joined.value(), planned.value());
  if (!std::cout.flush()) {
    std::cerr << "shankwright: the output could not be written whole\n";
    return 3;
  }
  return planned.value().warnings.empty() ? 0 : 1;
}

}  // namespace

void add_recipe_plan(CLI::App& recipe, int& exit_code) {
  CLI::App* const command =
      recipe.add_subcommand("plan", "Predicted force, growth, across flats and bites of a recipe");
  command->footer(
      "RECIPE is an id of the library, id.rREVISION for one revision (a draft too), or a recipe file's "
      "path.\n"
      "Exit 0 without warnings, 1 with warnings or where the model has no answer, 2 wrong usage, 3 a fault "
      "of the machine.");
  const auto options = std::make_shared<Options>();
  command->add_option("RECIPE", options->recipe, "Which recipe")->required();
  command->add_option("--library", options->library, "Folder of the recipe library")->capture_default_str();
  command->add_flag("--json", options->as_data, "Print JSON: lengths in mm, growth and margins as fractions");
  command->callback([options, &exit_code] { exit_code = plan(*options); });
}

}  // namespace shankwright::command
