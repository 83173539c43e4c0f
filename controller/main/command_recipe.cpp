#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "library/library.hpp"
#include "main/commands.hpp"
#include "main/recipe_commands.hpp"

namespace shankwright::command {
namespace {

using nlohmann::json;

/// "file:line:column" taken apart; a place without line and column keeps null in their stead.
json as_json(const Problem& problem) {
  std::string file = problem.place;
  json line = nullptr;
  json column = nullptr;
  const auto take_number = [&file](json& into) {
    const std::size_t colon = file.rfind(':');
    if (colon == std::string::npos) return false;
    int number = 0;
    const char* const end = file.data() + file.size();
    const auto [stop, error] = std::from_chars(file.data() + colon + 1, end, number);
    if (error != std::errc{} || stop != end || stop == file.data() + colon + 1) return false;
    into = number;
    file.resize(colon);
    return true;
  };
  if (take_number(column) && !take_number(line)) {
    file = problem.place;
    column = nullptr;
  }
  return {{"file", file},
          {"line", line},
          {"column", column},
          {"found", problem.found},
          {"expected", problem.expected}};
}

std::string counted(std::size_t count, const char* one, const char* many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

int check(const std::vector<std::string>& paths, bool as_data) {
  const library::Checked checked = library::check_paths({paths.begin(), paths.end()});
  if (as_data) {
    json out = {{"faults", json::array()}, {"warnings", json::array()}, {"files", checked.files}};
    for (const Problem& problem : checked.unreadable) out["faults"].push_back(as_json(problem));
    for (const Problem& problem : checked.faults) out["faults"].push_back(as_json(problem));
    for (const Problem& problem : checked.warnings) out["warnings"].push_back(as_json(problem));
    std::cout << out.dump(2, ' ', false, json::error_handler_t::replace) << '\n';
  } else {
    for (const Problem& problem : checked.unreadable) std::cout << problem.text() << '\n';
    for (const Problem& problem : checked.faults) std::cout << problem.text() << '\n';
    for (const Problem& problem : checked.warnings) std::cout << "warning: " << problem.text() << '\n';
    std::cout << fmt::format("{} checked: {}, {}\n", counted(checked.files, "file", "files"),
                             counted(checked.faults.size() + checked.unreadable.size(), "fault", "faults"),
                             counted(checked.warnings.size(), "warning", "warnings"));
  }
  if (!checked.unreadable.empty()) return 3;
  return checked.faults.empty() ? 0 : 1;
}

}  // namespace

void add_recipe(CLI::App& app, int& exit_code) {
  CLI::App* const recipe = app.add_subcommand("recipe", "Look at recipes and what they name");
  recipe->require_subcommand(1);
  add_recipe_plan(*recipe, exit_code);
  add_recipe_envelope(*recipe, exit_code);

  CLI::App* const checking = recipe->add_subcommand("check", "Report every fault with file:line:column");
  checking->footer(
      "PATH is a library folder, a folder or file in one, or a file by itself (a shop register too).\n"
      "Exit 0 without faults, 1 with faults, 2 wrong usage, 3 when something could not be read.\n"
      "Shankwright is not a safety function: the terminal and rope makers' instructions, local codes and a\n"
      "competent person come first.");
  struct Options {
    std::vector<std::string> paths;
    bool as_data = false;
  };
  const auto options = std::make_shared<Options>();
  checking->add_option("PATH", options->paths, "What to check")->required();
  checking->add_flag("--json", options->as_data, "Print faults and warnings as JSON");
  checking->callback([options, &exit_code] { exit_code = check(options->paths, options->as_data); });
}

}  // namespace shankwright::command
