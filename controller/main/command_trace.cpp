#include <CLI/CLI.hpp>

#include "main/commands.hpp"

namespace shankwright::command {

void add_trace(CLI::App&, int&) {}

}  // namespace shankwright::command
