#pragma once
#include <string>

#include "ports/ports.hpp"

namespace CLI {
class App;
}

/// The conditions that `find` and `export` share.
namespace shankwright::command {

struct FilterOptions {
  std::string from, until;
  ports::FittingFilter filter;
};

/// The options live as long as the command.
void add_filter_options(CLI::App& command, FilterOptions& options);

/// The filter with its days read; wrong usage (exit 2) for anything that is no day, and for an after_serial
/// that is no serial.
[[nodiscard]] ports::FittingFilter filter_of(const FilterOptions& options);

}  // namespace shankwright::command
