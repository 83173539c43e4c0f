#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "main/record_commands.hpp"
#include "main/system_clock.hpp"
#include "record/backup.hpp"
#include "record/serial.hpp"

namespace shankwright::command {
namespace {

struct Options {
  record::RestoreWish wish;
  std::string copy, folder;
  bool as_data = false;
};

int restore(Options options) {
  auto& wish = options.wish;
  wish.copy = options.copy;
  wish.folder = options.folder;
  wish.at_utc_us = SystemClock().utc_us();
  if (!wish.last_serial.empty() && !record::number_of(wish.last_serial))
    throw CLI::ValidationError("--last-serial",
                               fmt::format("found \"{}\", expected a whole serial, for example {}",
                                           wish.last_serial, record::serial_of(1)));
  const auto report = record::restore(wish);
  if (!report) {
    std::cerr << "shankwright: " << report.problem().text() << '\n';
    return 3;
  }
  const auto& made = report.value();
  const auto or_none = [](const std::string& serial) {
    return serial.empty() ? std::string("none") : serial;
  };
  if (options.as_data)
    std::cout << nlohmann::json{{"folder", options.folder},
                                {"entries", made.entries},
                                {"copied_until", made.copied_until},
                                {"last_serial_in_copy", made.last_serial_in_copy},
                                {"last_serial_skipped", made.last_serial_skipped},
                                {"serials_skipped", made.serials_skipped}}
                     .dump(2, ' ', false, nlohmann::json::error_handler_t::replace)
              << std::endl;
  else
    std::cout
        << fmt::format(
               "{}: {} entries found right, the newest is {}\n"
               "Newest serial in the copy: {}. Never to be given: {} after it, up to {}.\n"
               "What was recorded after the copy was made is lost: look through the labels and certificates "
               "of\n"
               "that time, and hold what they name until a competent person has decided.\n"
               "Put the signing keys back into {}/keys before the station starts, or replace the key.\n",
               options.folder, made.entries, made.copied_until, or_none(made.last_serial_in_copy),
               made.serials_skipped, or_none(made.last_serial_skipped), options.folder)
        << std::flush;
  if (std::cout) return 0;
  std::cerr << "shankwright: the output could not be written whole\n";
  return 3;
}

}  // namespace

void add_record_restore(CLI::App& record, int& exit_code) {
  CLI::App* const command = record.add_subcommand("restore", "Put a copy in the place of a lost record");
  command->footer(
      "The copy is checked and only read; DIR must not be there yet, or be empty. Keep what is left of the "
      "old\n"
      "record: nothing here can tell what it still holds.\n"
      "A copy does not know the serials given after it was made. They are on labels, so they must not be "
      "given\n"
      "again: say how many may have been given with --skip-serials (too many costs nothing), and the highest "
      "one\n"
      "known with --last-serial, which is then held against it. The record says that it was restored, and "
      "what\n"
      "was skipped. Seals kept elsewhere that are newer than the copy will not be found in it: that is "
      "true.\n"
      "Example:\n"
      "  shankwright record restore --from record-2031-05-31.sqlite3 --data data --skip-serials 5000 --by "
      "maria\n"
      "Exit 0 when restored, 2 wrong usage, 3 when it could not be (DIR is as it was then).");
  const auto options = std::make_shared<Options>();
  command->add_option("--from", options->copy, "Copy written by record backup")->required();
  command->add_option("--data", options->folder, "Data folder to make")->required();
  command->add_option("--skip-serials", options->wish.skip_serials, "Serials that will never be given")
      ->check(CLI::Range(std::int64_t{0}, std::int64_t{100'000'000}))
      ->capture_default_str();
  command->add_option("--last-serial", options->wish.last_serial, "Highest serial known to have been given");
  command->add_option("--by", options->wish.actor, "Who restores, for the record")->required();
  command->add_flag("--json", options->as_data, "Print what was restored as JSON");
  command->callback([options, &exit_code] { exit_code = restore(*options); });
}

}  // namespace shankwright::command
