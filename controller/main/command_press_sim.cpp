#include <CLI/CLI.hpp>

#include "main/commands.hpp"

namespace shankwright::command {

void add_press_sim(CLI::App&, int&) {}

}  // namespace shankwright::command
