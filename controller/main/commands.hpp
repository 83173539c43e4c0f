#pragma once
namespace CLI {
class App;
}

/// Each adds its subcommand to the application; the callback does the work and leaves the exit code in `exit_code`:
/// 0 success, 1 a negative finding, 2 wrong usage, 3 a fault of the machine or its surroundings.
namespace shankwright::command {

void add_station(CLI::App& app, int& exit_code);
void add_account(CLI::App& app, int& exit_code);
void add_press_sim(CLI::App& app, int& exit_code);
void add_recipe(CLI::App& app, int& exit_code);
void add_bite(CLI::App& app, int& exit_code);
void add_plan(CLI::App& app, int& exit_code);
void add_trial(CLI::App& app, int& exit_code);
void add_calibrate(CLI::App& app, int& exit_code);
void add_trace(CLI::App& app, int& exit_code);
void add_find(CLI::App& app, int& exit_code);
void add_export(CLI::App& app, int& exit_code);
void add_certificate(CLI::App& app, int& exit_code);
void add_label(CLI::App& app, int& exit_code);
void add_verify(CLI::App& app, int& exit_code);
void add_record(CLI::App& app, int& exit_code);

}  // namespace shankwright::command
