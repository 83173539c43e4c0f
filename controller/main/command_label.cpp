#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <iostream>
#include <memory>

#include "label/label.hpp"
#include "main/commands.hpp"
#include "main/paper_file.hpp"
#include "main/system_clock.hpp"
#include "main/unknown_serial.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string serial, size = "30mmx15mm", data = "data";
  PaperFile paper;
};

int make_label(const Options& options) {
  const auto size = label::parse_size(options.size);
  if (!size) throw CLI::ValidationError("--size", size.problem().text());
  const auto form = std::filesystem::path(options.paper.file).extension().string();
  if (form != ".svg" && form != ".png" && form != ".pdf")
    throw CLI::ValidationError("--out",
                               "found \"" + form + "\", expected a name that ends in .svg, .png or .pdf");
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) {
    std::cerr << "shankwright: " << store.problem().text() << '\n';
    return 3;
  }
  const auto row = store.value()->fitting(options.serial);
  if (!row) {
    if (record::is_unknown_serial(row.problem()))
      return unknown_serial(*store.value(), options.serial, row.problem(), false);
    std::cerr << "shankwright: " << row.problem().text() << '\n';
    return 3;
  }
  const auto made = label::label_of(row.value(), options.paper.unit_system());
  const auto bytes = form == ".svg"   ? label::to_svg(made, size.value())
                     : form == ".png" ? label::to_png(made, size.value())
                                      : label::to_pdf(made, size.value(), SystemClock().utc_us());
  if (!bytes) {
    std::cerr << "shankwright: " << bytes.problem().text() << '\n';
    return 2;
  }
  return write_paper(options.paper, bytes.value());
}

}  // namespace

void add_label(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("label", "Make the label of one fitting");
  command->footer(fmt::format(
      "The bare serial as a Data Matrix, and for people the serial, rope, bore, job and day. A fitting\n"
      "that is not released carries its state in place of the day.\n"
      "Examples:\n"
      "  shankwright label {0} --out {0}.svg\n"
      "  shankwright label {0} --out {0}.png --size 1.2inx0.6in --units inch\n"
      "Exit 0 when written, 1 when there is no such fitting or the file is there already, 2 wrong usage\n"
      "(also a label too small to be read), 3 when record or file failed.",
      record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  command->add_option("SERIAL", options->serial, "With or without hyphens, in capitals or not")->required();
  command->add_option("--out", options->paper.file, "File to write: .svg, .png (600 dots an inch) or .pdf")
      ->required()
      ->type_name("FILE");
  command->add_option("--size", options->size, "Width and height")->type_name("WxH")->capture_default_str();
  add_units_option(*command, options->paper);
  add_force_option(*command, options->paper);
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->callback([options, &exit_code] { exit_code = make_label(*options); });
}

}  // namespace shankwright::command
