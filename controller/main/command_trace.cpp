#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "main/command_diagnose.hpp"
#include "main/commands.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/dossier.hpp"
#include "review/nearest_serials.hpp"

namespace shankwright::command {
namespace {

using nlohmann::json;

struct Options {
  std::string serial;
  std::string data = "data";
  std::string library = "recipes";
  bool as_data = false, diagnose = false;
};

/// Nobody by that serial: what may have been meant, and whether it was typed wrong.
int unknown(const record::SqliteStore& store, const Options& options, const Problem& problem) {
  const auto known = store.serials();
  const auto near =
      known ? review::nearest_serials(options.serial, known.value(), 5) : std::vector<std::string>{};
  const bool given = record::number_of(options.serial).has_value();
  if (options.as_data) {
    const json out{
        {"problem", {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}}},
        {"check_characters_fit", given},
        {"near", near}};
    std::cout << out.dump(2, ' ', false, json::error_handler_t::replace) << '\n';
    return 1;
  }
  std::cerr << "shankwright: " << problem.text() << '\n';
  if (!given)
    std::cerr << "Its check characters do not fit, so it was misread or mistyped. A whole serial looks like "
              << record::serial_of(1) << ".\n";
  if (!near.empty()) {
    std::cerr << "Near to it:\n";
    for (const auto& serial : near) std::cerr << "  " << serial << '\n';
  }
  return 1;
}

int trace(const Options& options) {
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) {
    std::cerr << "shankwright: " << store.problem().text() << '\n';
    return 3;
  }
  const auto dossier = options.as_data ? review::dossier_json(*store.value(), options.serial)
                                       : review::dossier_text(*store.value(), options.serial);
  if (!dossier) {
    if (record::is_unknown_serial(dossier.problem()))
      return unknown(*store.value(), options, dossier.problem());
    std::cerr << "shankwright: " << dossier.problem().text() << '\n';
    return 3;
  }
  if (options.diagnose) return diagnose(*store.value(), options.serial, options.library, options.as_data);
  std::cout << dossier.value() << (options.as_data ? "\n" : "") << std::flush;
  if (std::cout) return 0;
  std::cerr << "shankwright: the output could not be written whole\n";
  return 3;
}

}  // namespace

void add_trace(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("trace", "Show all the evidence for one serial");
  command->footer(
      fmt::format("Also while a station writes to the record.\n"
                  "Examples:\n"
                  "  shankwright trace {0}\n"
                  "  shankwright trace {0} --json --data press-2 > dossier.json\n"
                  "  shankwright trace {0} --diagnose\n"
                  "Exit 0 when found, 1 when there is no such fitting (with --diagnose also when a bite most\n"
                  "likely tells of a fault), 2 wrong usage, 3 when the record cannot be read.",
                  record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  command->add_option("SERIAL", options->serial, "With or without hyphens, in capitals or not")->required();
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_flag("--json", options->as_data, "The whole dossier as JSON, samples included");
  command->add_flag("--diagnose", options->diagnose,
                    "Instead: what each bite's trace most likely tells. Takes some seconds; advice only");
  command->add_option("--library", options->library, "With --diagnose: engineering library, for the sizes of other dies")
      ->capture_default_str();
  command->callback([options, &exit_code] { exit_code = trace(*options); });
}

}  // namespace shankwright::command
