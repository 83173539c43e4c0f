#pragma once
#include <memory>
#include <string>

#include "papers/sheet.hpp"
#include "quantity/unit_system.hpp"

namespace CLI {
class App;
}

/// What the commands that make a file for people have in common.
namespace shankwright::command {

struct PaperFile {
  std::string file;
  bool force = false;
  std::string units = "metric", paper = "a4";

  [[nodiscard]] quantity::UnitSystem unit_system() const;
  [[nodiscard]] papers::PageSize page_size() const;
};

void add_units_option(CLI::App& command, PaperFile& options);
void add_page_option(CLI::App& command, PaperFile& options);
void add_force_option(CLI::App& command, PaperFile& options);

/// The file is there whole or not at all. Exit code 0; 1 when a file by that name is there and --force was
/// not given; 3 when it could not be written. Says what happened, the success on stdout.
int write_paper(const PaperFile& options, const std::string& bytes);

}  // namespace shankwright::command
