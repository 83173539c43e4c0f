#include <CLI/CLI.hpp>

#include "main/commands.hpp"

namespace shankwright::command {

void add_find(CLI::App&, int&) {}

}  // namespace shankwright::command
