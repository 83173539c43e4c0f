#pragma once
namespace CLI {
class App;
}

/// What hangs under `shankwright recipe`; each adds its own subcommand to it.
namespace shankwright::command {

void add_recipe_plan(CLI::App& recipe, int& exit_code);
void add_recipe_envelope(CLI::App& recipe, int& exit_code);

}  // namespace shankwright::command
