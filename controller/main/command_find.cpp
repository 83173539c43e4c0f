#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <iostream>
#include <memory>

#include "main/commands.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/listing.hpp"
#include "review/time.hpp"

namespace shankwright::command {
namespace {

struct Options {
  std::string from, until, data = "data";
  ports::FittingFilter filter;
  bool as_data = false;
};

/// First microsecond of the day; wrong usage (exit 2) for anything that is no day.
std::int64_t day_start(const std::string& option, const std::string& text) {
  const auto start = review::day_start_utc_us(text);
  if (!start) throw CLI::ValidationError(option, start.problem().text());
  return start.value();
}

int find(Options options) {
  auto& filter = options.filter;
  if (!options.from.empty()) filter.from_utc_us = day_start("--from", options.from);
  if (!options.until.empty()) filter.until_utc_us = day_start("--until", options.until) + review::us_per_day;
  if (!filter.after_serial.empty() && !record::number_of(filter.after_serial))
    throw CLI::ValidationError("--after", fmt::format("found \"{}\", expected a whole serial, for example {}",
                                                      filter.after_serial, record::serial_of(1)));
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
                  "  shankwright find --limit 50 --after {}\n"
                  "Exit 0 when something was found, 1 when nothing was, 2 wrong usage, 3 when the record\n"
                  "cannot be read.",
                  record::serial_of(123)));
  const auto options = std::make_shared<Options>();
  auto& filter = options->filter;
  command->add_option("--from", options->from, "Begun on this day (UTC) or later")->type_name("DATE");
  command->add_option("--until", options->until, "Begun on this day (UTC) or earlier")->type_name("DATE");
  command->add_option("--verdict", filter.verdict, "Verdict")
      ->check(CLI::IsMember({"open", "accepted", "re-pressed", "scrapped", "held"}));
  command->add_option("--serial", filter.serial_prefix, "Beginning of the serial");
  command->add_option("--recipe", filter.recipe_id, "Recipe");
  command->add_option("--job", filter.job, "Job");
  command->add_option("--operator", filter.operator_id, "Operator who began it");
  command->add_option("--rope-lot", filter.rope_lot, "Rope lot");
  command->add_option("--terminal-lot", filter.terminal_lot, "Terminal lot");
  command->add_option("--die-pair", filter.die_pair_id, "Die pair");
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
