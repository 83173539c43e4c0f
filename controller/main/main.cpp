#include <CLI/CLI.hpp>
#include <exception>
#include <iostream>

#include "main/commands.hpp"

namespace {
constexpr auto about =
    "Shankwright runs a hydraulic swaging press and keeps the evidence of every squeeze.\n"
    "It is not a safety function: two-hand control, guards, emergency stop and pressure relief belong to the press.\n"
    "Follow the terminal and rope makers' instructions, local codes and a competent person.";
}

int main(int argc, char** argv) {
  CLI::App app{about, "shankwright"};
  app.require_subcommand(1);
  int exit_code = 0;
  shankwright::command::add_station(app, exit_code);
  shankwright::command::add_account(app, exit_code);
  shankwright::command::add_press_sim(app, exit_code);
  shankwright::command::add_recipe(app, exit_code);
  shankwright::command::add_bite(app, exit_code);
  shankwright::command::add_plan(app, exit_code);
  shankwright::command::add_trial(app, exit_code);
  shankwright::command::add_calibrate(app, exit_code);
  shankwright::command::add_trace(app, exit_code);
  shankwright::command::add_find(app, exit_code);
  shankwright::command::add_export(app, exit_code);
  shankwright::command::add_certificate(app, exit_code);
  shankwright::command::add_label(app, exit_code);
  shankwright::command::add_verify(app, exit_code);
  shankwright::command::add_record(app, exit_code);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  } catch (const std::exception& error) {
    std::cerr << "shankwright: " << error.what() << '\n';
    return 3;
  }
  return exit_code;
}
