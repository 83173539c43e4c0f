#include "main/paper_file.hpp"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <iostream>

#include "record/whole_file.hpp"

namespace shankwright::command {
namespace {

constexpr ::mode_t readable = 0644;  // a paper is for handing on

}  // namespace

quantity::UnitSystem PaperFile::unit_system() const {
  return units == "inch" ? quantity::UnitSystem::inch : quantity::UnitSystem::metric;
}

papers::PageSize PaperFile::page_size() const {
  return paper == "letter" ? papers::letter_size : papers::PageSize{};
}

void add_units_option(CLI::App& command, PaperFile& options) {
  command.add_option("--units", options.units, "mm and kN, or in and lbf")
      ->check(CLI::IsMember({"metric", "inch"}))
      ->capture_default_str();
}

void add_page_option(CLI::App& command, PaperFile& options) {
  command.add_option("--paper", options.paper, "Size of the pages")
      ->check(CLI::IsMember({"a4", "letter"}))
      ->capture_default_str();
}

void add_force_option(CLI::App& command, PaperFile& options) {
  command.add_flag("--force", options.force, "Write over a file that is there");
}

int write_paper(const PaperFile& options, const std::string& bytes) {
  std::error_code error;
  if (!options.force && std::filesystem::exists(std::filesystem::symlink_status(options.file, error))) {
    std::cerr << "shankwright: " << options.file << " is there already; --force writes over it\n";
    return 1;
  }
  if (const auto problem = record::write_whole_file(options.file, bytes, readable)) {
    std::cerr << "shankwright: " << problem->text() << '\n';
    return 3;
  }
  std::cout << options.file << '\n' << std::flush;
  if (std::cout) return 0;
  std::cerr << "shankwright: the output could not be written whole\n";
  return 3;
}

}  // namespace shankwright::command
