#include <CLI/CLI.hpp>

#include "main/commands.hpp"

namespace shankwright::command {

void add_station(CLI::App&, int&) {}

}  // namespace shankwright::command
