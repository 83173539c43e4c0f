#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "main/record_commands.hpp"
#include "main/system_clock.hpp"
#include "record/archive.hpp"
#include "record/store.hpp"

/// What is done to a record while no station writes to it: closing a period, a new signing key, the index
/// anew.
namespace shankwright::command {
namespace {

struct Options {
  std::string data = "data", actor, reason;
  bool old_key_lost = false;
};

int fail(const Problem& problem) {
  std::cerr << "shankwright: " << problem.text() << '\n';
  return 3;
}

int told(const std::string& text) {
  std::cout << text << std::flush;
  if (std::cout) return 0;
  std::cerr << "shankwright: the output could not be written whole\n";
  return 3;
}

int close_period(const Options& options) {
  const auto closed = record::close_period(options.data, options.actor, SystemClock().utc_us());
  if (!closed) return fail(closed.problem());
  const auto& period = closed.value();
  return told(fmt::format(
      "Closed: entries {} to {} are in {}\nIts newest hash is {}\n"
      "The record goes on in {}. Keep closed files where they are, and copies of them elsewhere.\n",
      period.first_sequence, period.last_sequence, period.file.string(), period.head_hex, options.data));
}

int rotate_key(const Options& options) {
  const auto store = record::SqliteStore::open(options.data);
  if (!store) return fail(store.problem());
  const auto key =
      store.value()->rotate_key(options.actor, options.reason, SystemClock().utc_us(), options.old_key_lost);
  if (!key) return fail(key.problem());
  return told(
      fmt::format("Sealed from now on with key {}\nKeep this public key elsewhere, beside the old one.\n",
                  record::hex(key.value())));
}

int rebuild_index(const Options& options) {
  const auto store = record::SqliteStore::open(options.data);
  if (!store) return fail(store.problem());
  const auto applied = store.value()->rebuild_index();
  if (!applied) return fail(applied.problem());
  return told(fmt::format("The index was made anew from {} entries.\n", applied.value()));
}

CLI::App* care(CLI::App& record, const char* name, const char* what,
               const std::shared_ptr<Options>& options) {
  CLI::App* const command = record.add_subcommand(name, what);
  command->add_option("--data", options->data, "Data folder of the station, which must not be running")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  return command;
}

}  // namespace

void add_record_care(CLI::App& record, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* const close =
      care(record, "close-period", "Seal the record's file and put it away whole", options);
  close->footer(
      "Nothing is deleted: the file becomes DATA/archive/record-FIRST-LAST.sqlite3, read-only, and the "
      "record goes\n"
      "on in a new one whose chain follows on it. Search, open fittings and serials go on as before; trace, "
      "verify\n"
      "and export read closed files where they lie. Needs the room of the index again while it runs.\n"
      "Example:\n"
      "  shankwright record close-period --data data --by maria\n"
      "Exit 0 when closed, 2 wrong usage, 3 when it could not be (the record is as it was then).");
  close->add_option("--by", options->actor, "Who closes it, for the record")->required();
  close->callback([options, &exit_code] { exit_code = close_period(*options); });

  CLI::App* const rotate = care(record, "rotate-key", "Seal with a new key from now on", options);
  rotate->footer(
      "The old key signs for the new one, in the record, so that who holds an old public key can follow; "
      "its\n"
      "secret half is taken away. A lost key can be replaced too; nobody can vouch for the new one then, "
      "and\n"
      "every verification says so.\n"
      "Example:\n"
      "  shankwright record rotate-key --data data --by maria --reason \"yearly\"\n"
      "Exit 0 when replaced, 2 wrong usage, 3 when it could not be.");
  rotate->add_option("--by", options->actor, "Who replaces it, for the record")->required();
  rotate->add_option("--reason", options->reason, "Why, for the record")->required();
  rotate->add_flag("--old-key-lost", options->old_key_lost, "The old secret key is gone for good");
  rotate->callback([options, &exit_code] { exit_code = rotate_key(*options); });

  CLI::App* const rebuild =
      care(record, "rebuild-index", "Make what is searched anew from the entries", options);
  rebuild->footer(
      "The index is no evidence; verify says when it does not fit the entries.\n"
      "Exit 0 when made, 2 wrong usage, 3 when it could not be.");
  rebuild->callback([options, &exit_code] { exit_code = rebuild_index(*options); });
}

}  // namespace shankwright::command
