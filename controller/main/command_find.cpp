#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "main/commands.hpp"
#include "main/fitting_filter_options.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/listing.hpp"

namespace shankwright::command {
namespace {

struct Options {
  FilterOptions conditions;
  std::string data = "data";
  bool as_data = false;
};

int find(const Options& options) {
  const auto filter = filter_of(options.conditions);
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) {
    std::cerr << "shankwright: " << store.problem().text() << '\n';
    return 3;
  }
  const auto listing = review::list(*store.value(), filter);
  if (!listing) {
    std::cerr << "shankwright: " << listing.problem().text() << '\n';
    return 3;
  }
  const bool none = listing.value().rows.empty();
  if (options.as_data)
    std::cout << review::listing_json(listing.value()) << std::endl;
  else if (!none)
    std::cout << review::listing_text(listing.value()) << std::flush;
  if (!std::cout) {
    std::cerr << "shankwright: the output could not be written whole\n";
    return 3;
  }
  if (!options.as_data && none) std::cerr << "shankwright: no fitting in the record fits\n";
  if (!options.as_data && !listing.value().next_after.empty())
    std::cerr << "There are more: repeat with --after " << listing.value().next_after << '\n';
  return none ? 1 : 0;
}

}  // namespace

void add_find(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("find", "List fittings by what they have in common");
  command->footer(
      fmt::format("All conditions must hold; without any, every fitting is listed, oldest first.\n"
                  "Examples:\n"
                  "  shankwright find --rope-lot L-2207 --verdict accepted\n"
                  "  shankwright find --from 2031-05-01 --until 2031-05-31 --json\n"
                  "  shankwright find --gauge caliper-1 --text \"parting line\"\n"
                  "  shankwright find --limit 50 --after {}\n"
                  "Exit 0 when something was found, 1 when nothing was, 2 wrong usage, 3 when the record\n"
                  "cannot be read.",
                  record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  auto& filter = options->conditions.filter;
  add_filter_options(*command, options->conditions);
  command->add_option("--limit", filter.limit, "At most so many")
      ->check(CLI::Range(1, 100'000))
      ->capture_default_str();
  command->add_option("--after", filter.after_serial, "Go on after this serial, as the last list ended");
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_flag("--json", options->as_data, "Print the list as JSON");
  command->callback([options, &exit_code] { exit_code = find(*options); });
}

}  // namespace shankwright::command
