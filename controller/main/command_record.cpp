#include <CLI/CLI.hpp>

#include "main/commands.hpp"
#include "main/record_commands.hpp"

namespace shankwright::command {

void add_record(CLI::App& app, int& exit_code) {
  CLI::App* const record = app.add_subcommand("record", "Take care of the record's files");
  record->require_subcommand(1);
  add_record_backup(*record, exit_code);
  add_record_restore(*record, exit_code);
  add_record_care(*record, exit_code);
}

}  // namespace shankwright::command
