#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "main/commands.hpp"
#include "main/paper_file.hpp"
#include "main/system_clock.hpp"
#include "main/unknown_serial.hpp"
#include "papers/certificate.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string serial, job, data = "data";
  PaperFile paper;
};

int certificate(const Options& options) {
  if (options.serial.empty() == options.job.empty())
    throw CLI::ValidationError("SERIAL", "name one serial, or one job with --job");
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) {
    std::cerr << "shankwright: " << store.problem().text() << '\n';
    return 3;
  }
  const auto certified = options.job.empty() ? papers::certified_serial(*store.value(), options.serial)
                                             : papers::certified_job(*store.value(), options.job);
  if (!certified) {
    const auto& problem = certified.problem();
    if (record::is_unknown_serial(problem))
      return unknown_serial(*store.value(), options.serial, problem, false);
    std::cerr << "shankwright: " << problem.text() << '\n';
    return papers::is_refusal(problem) ? 1 : 3;
  }
  PaperFile paper = options.paper;
  const auto& made = certified.value();
  if (paper.file.empty()) paper.file = fmt::format("certificate-{}.pdf", made.fittings.front().row.serial);
  return write_paper(
      paper, papers::certificate_pdf(made, {paper.unit_system(), paper.page_size(), SystemClock().utc_us()}));
}

}  // namespace

void add_certificate(CLI::App& app, int& exit_code) {
  CLI::App* const command =
      app.add_subcommand("certificate", "Make the certificate of released fittings as PDF");
  command->footer(fmt::format(
      "Each measurement against its limits, with gauge and calibration; force of every bite; proof load;\n"
      "holds and dispositions; and a code by which the record can be held against the paper\n"
      "(shankwright verify --code CODE). Only what is released and sealed is certified. Not a safety\n"
      "function: the makers' instructions, local codes and a competent person come first.\n"
      "Examples:\n"
      "  shankwright certificate {0}\n"
      "  shankwright certificate {0} --out mast.pdf --units inch --paper letter\n"
      "  shankwright certificate --job job-41 --out job-41.pdf --force\n"
      "Exit 0 when written, 1 when refused (no such serial or job, not released, not sealed, file there\n"
      "already), 2 wrong usage, 3 when record or file failed.",
      record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  command->add_option("SERIAL", options->serial, "With or without hyphens, in capitals or not");
  command->add_option("--job", options->job, "All released fittings of this job instead");
  command->add_option("--out", options->paper.file, "File to write; certificate-SERIAL.pdf when not given")
      ->type_name("FILE.pdf");
  add_units_option(*command, options->paper);
  add_page_option(*command, options->paper);
  add_force_option(*command, options->paper);
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->callback([options, &exit_code] { exit_code = certificate(*options); });
}

}  // namespace shankwright::command
