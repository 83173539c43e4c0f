#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "main/command_diagnose.hpp"
#include "main/commands.hpp"
#include "main/paper_file.hpp"
#include "main/system_clock.hpp"
#include "main/unknown_serial.hpp"
#include "papers/dossier_pdf.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/dossier.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string serial;
  std::string data = "data";
  std::string library = "recipes";
  bool as_data = false, diagnose = false;
  PaperFile paper;  ///< of --pdf
};

int print_pages(const record::SqliteStore& store, const Options& options) {
  const auto pages =
      papers::dossier_pdf(store, options.serial,
                          {options.paper.unit_system(), options.paper.page_size(), SystemClock().utc_us()});
  if (pages) return write_paper(options.paper, pages.value());
  if (record::is_unknown_serial(pages.problem()))
    return unknown_serial(store, options.serial, pages.problem(), options.as_data);
  std::cerr << "shankwright: " << pages.problem().text() << '\n';
  return 3;
}

int trace(const Options& options) {
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) {
    std::cerr << "shankwright: " << store.problem().text() << '\n';
    return 3;
  }
  if (!options.paper.file.empty()) return print_pages(*store.value(), options);
  const auto dossier = options.as_data ? review::dossier_json(*store.value(), options.serial)
                                       : review::dossier_text(*store.value(), options.serial);
  if (!dossier) {
    if (record::is_unknown_serial(dossier.problem()))
      return unknown_serial(*store.value(), options.serial, dossier.problem(), options.as_data);
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
  command->footer(fmt::format(
      "Also while a station writes to the record.\n"
      "Examples:\n"
      "  shankwright trace {0}\n"
      "  shankwright trace {0} --json --data press-2 > dossier.json\n"
      "  shankwright trace {0} --pdf dossier.pdf --units inch\n"
      "  shankwright trace {0} --diagnose\n"
      "Exit 0 when found, 1 when there is no such fitting (with --diagnose also when a bite most\n"
      "likely tells of a fault; with --pdf also when the file is there already), 2 wrong usage,\n"
      "3 when the record cannot be read or the file not written.",
      record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  command->add_option("SERIAL", options->serial, "With or without hyphens, in capitals or not")->required();
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_flag("--json", options->as_data, "The whole dossier as JSON, samples included");
  command->add_flag("--diagnose", options->diagnose,
                    "Instead: what each bite's trace most likely tells. Takes some seconds; advice only");
  command
      ->add_option("--library", options->library,
                   "With --diagnose: engineering library, for the sizes of other dies")
      ->capture_default_str();
  CLI::Option* const pages =
      command->add_option("--pdf", options->paper.file, "Instead: the dossier as pages, every trace drawn")
          ->type_name("FILE");
  add_units_option(*command, options->paper);
  add_page_option(*command, options->paper);
  add_force_option(*command, options->paper);
  pages->excludes("--json")->excludes("--diagnose");
  command->callback([options, &exit_code] { exit_code = trace(*options); });
}

}  // namespace shankwright::command
