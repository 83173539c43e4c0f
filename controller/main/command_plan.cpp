#include <CLI/CLI.hpp>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>

#include "cut_list/cut_list.hpp"
#include "library/job.hpp"
#include "main/commands.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string job;
  std::string library = "recipes";
  std::string unit = "mm";
  bool as_data = false;
  std::string table;
  std::string sheet;
};

int fault_of_machine(const std::string& words) {
  std::cerr << "shankwright: " << words << '\n';
  return 3;
}

/// Beside the file first and then in its place, so that a full disk leaves no half a sheet to cut by.
bool write_whole(const std::filesystem::path& file, const std::string& text) {
  std::filesystem::path beside = file;
  beside += ".part";
  {
    std::ofstream out(beside, std::ios::binary | std::ios::trunc);
    out << text << std::flush;
    if (!out) {
      std::error_code ignored;
      std::filesystem::remove(beside, ignored);
      return false;
    }
  }
  std::error_code error;
  std::filesystem::rename(beside, file, error);
  return !error;
}

cut_list::Document document_of(const Options& options, library::JobResult result,
                               const library::Library& lib) {
  cut_list::Document document;
  document.file = options.job;
  document.faults = std::move(result.faults);
  if (!document.faults.empty()) return document;
  document.job = std::move(result.job);
  document.plan = planning::plan_of(document.job, library::parts_of(lib));
  document.place_of = [places = std::move(result.places)](const std::string& path) {
    const library::Place place = library::place_in_job(places, path);
    return cut_list::FilePlace{place.line, place.column};
  };
  return document;
}

int plan(const Options& options) {
  std::error_code error;
  if (!std::filesystem::is_directory(options.library, error))
    return fault_of_machine(options.library + ": no such folder; --library names the engineering library");
  const library::Library lib = library::load(options.library);
  library::JobResult result = library::load_job(options.job, lib);
  if (result.unreadable) return fault_of_machine(result.faults.front().text());
  const cut_list::Document document = document_of(options, std::move(result), lib);
  const bool sound = document.faults.empty() && document.plan.refusals.empty();
  const auto unit = options.unit == "in" ? cut_list::LengthUnit::in : cut_list::LengthUnit::mm;
  if (sound && !options.sheet.empty()) {
    if (std::filesystem::equivalent(options.sheet, options.job, error))
      return fault_of_machine(options.sheet + ": the job itself; the sheet needs a file of its own");
    if (!write_whole(options.sheet, cut_list::sheet(document, unit)))
      return fault_of_machine(options.sheet + ": the sheet could not be written");
  }
  if (options.as_data) {
    std::cout << cut_list::json(document) << '\n';
  } else if (sound && !options.table.empty()) {
    const auto table = options.table == "account" ? cut_list::Table::account
                       : options.table == "bill"  ? cut_list::Table::bill
                                                  : cut_list::Table::cuts;
    std::cout << cut_list::csv(document, table, unit);
  } else {
    // A table that is asked for goes to a program: what is wrong must not end up among its rows.
    (options.table.empty() ? std::cout : std::cerr) << cut_list::text(document, unit);
  }
  std::cout << std::flush;
  if (!std::cout) return fault_of_machine("the output could not be written whole");
  return sound ? 0 : 1;
}

}  // namespace

void add_plan(CLI::App& app, int& exit_code) {
  CLI::App* const command =
      app.add_subcommand("plan", "Cut lengths, bill of parts and refusals of a job, before anything is cut");
  command->footer(
      "JOB is a YAML file (keys: recipes/README.md; examples: simulators/demo_data/jobs).\n"
      "Examples:\n"
      "  shankwright plan job.yaml\n"
      "  shankwright plan job.yaml --unit in --sheet cut-list.html\n"
      "  shankwright plan job.yaml --csv bill > bill.csv\n"
      "Exit 0 when the job can be cut, 1 when it is refused or has faults, 2 wrong usage, 3 when something "
      "could\n"
      "not be read or written.\n"
      "Shankwright is not a safety function: the terminal and rope makers' instructions, local codes and a\n"
      "competent person come first.");
  const auto options = std::make_shared<Options>();
  command->add_option("JOB", options->job, "The job's file")->required();
  command->add_option("--library", options->library, "Folder of the engineering library")
      ->capture_default_str();
  command->add_option("--unit", options->unit, "Lengths as printed (JSON is always in mm)")
      ->check(CLI::IsMember({"mm", "in"}))
      ->capture_default_str();
  CLI::Option* const json = command->add_flag("--json", options->as_data, "Everything as JSON");
  command->add_option("--csv", options->table, "One table as CSV: cuts, account or bill")
      ->check(CLI::IsMember({"cuts", "account", "bill"}))
      ->excludes(json);
  command->add_option("--sheet", options->sheet, "Also write a sheet for the cutter (HTML, for A4)");
  command->callback([options, &exit_code] { exit_code = plan(*options); });
}

}  // namespace shankwright::command
