#pragma once
namespace CLI {
class App;
}

/// What hangs under `shankwright record`; each adds its own subcommand to it.
namespace shankwright::command {

void add_record_backup(CLI::App& record, int& exit_code);
void add_record_restore(CLI::App& record, int& exit_code);
void add_record_care(CLI::App& record, int& exit_code);

}  // namespace shankwright::command
