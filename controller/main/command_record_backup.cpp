#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "main/record_commands.hpp"
#include "record/backup.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string data = "data", target;
  bool as_data = false;
};

/// On a terminal only; a pipe gets nothing.
record::BackupProgress progress_line() {
  if (::isatty(STDERR_FILENO) == 0) return {};
  return [shown = -1](std::uint64_t done, std::uint64_t all) mutable {
    const int percent = all == 0 ? 100 : static_cast<int>(done * 100 / all);
    if (percent == shown) return;
    shown = percent;
    std::cerr << fmt::format("\rcopied {} %{}", percent, done == all ? ", checking the copy\n" : "")
              << std::flush;
  };
}

int back_up(const Options& options) {
  const auto report = record::back_up(options.data, options.target, progress_line());
  if (!report) {
    std::cerr << "shankwright: " << report.problem().text() << '\n';
    return 3;
  }
  const auto& made = report.value();
  if (options.as_data)
    std::cout << nlohmann::json{{"file", made.file.string()},
                                {"bytes", made.bytes},
                                {"newest_entry", made.newest},
                                {"newest_hash", made.newest_hash_hex},
                                {"newest_at_utc_us", made.newest_at_utc_us},
                                {"entries_checked", made.entries_checked},
                                {"closed_files", made.closed_files}}
                     .dump(2, ' ', false, nlohmann::json::error_handler_t::replace)
              << std::endl;
  else
    std::cout << fmt::format("{}: {:.1f} MB, {} entries checked, newest {} with hash {}\n{}",
                             made.file.string(), static_cast<double>(made.bytes) / 1e6, made.entries_checked,
                             made.newest, made.newest_hash_hex,
                             made.closed_files > 0
                                 ? fmt::format("{} closed periods beside it\n", made.closed_files)
                                 : "")
              << "The signing keys are not in it: keep a copy of them elsewhere, under lock.\n"
              << std::flush;
  if (std::cout) return 0;
  std::cerr << "shankwright: the output could not be written whole\n";
  return 3;
}

}  // namespace

void add_record_backup(CLI::App& record, int& exit_code) {
  CLI::App* const command =
      record.add_subcommand("backup", "Copy the record, also while the station presses");
  command->footer(
      "The copy is checked (pages, every hash) before it gets its name, and nothing is ever overwritten.\n"
      "Closed periods go into the folder archive beside it. It holds the record as it was when copying "
      "began.\n"
      "NOT copied: the signing keys (DATA/keys) and the accounts' PINs. Who has a copy and the keys could "
      "seal a\n"
      "record of their own making, so keep the keys elsewhere, under lock; without them a restored record "
      "goes\n"
      "on with a new key, and says so. Put the copy on another disk, and take it away from the building.\n"
      "Example:\n"
      "  shankwright record backup --data data --to /mnt/stick/record-2031-05-31.sqlite3\n"
      "Exit 0 when copied and checked, 2 wrong usage, 3 when it could not be (nothing is left of it then).");
  const auto options = std::make_shared<Options>();
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_option("--to", options->target, "File to write; must not be there yet")->required();
  command->add_flag("--json", options->as_data, "Print what was copied as JSON");
  command->callback([options, &exit_code] { exit_code = back_up(*options); });
}

}  // namespace shankwright::command
