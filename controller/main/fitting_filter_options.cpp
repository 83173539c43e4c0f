#include "main/fitting_filter_options.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "record/serial.hpp"
#include "review/time.hpp"

namespace shankwright::command {
namespace {

std::int64_t day_start(const std::string& option, const std::string& text) {
  const auto start = review::day_start_utc_us(text);
  if (!start) throw CLI::ValidationError(option, start.problem().text());
  return start.value();
}

}  // namespace

void add_filter_options(CLI::App& command, FilterOptions& options) {
  auto& filter = options.filter;
  command.add_option("--from", options.from, "Begun on this day (UTC) or later")->type_name("DATE");
  command.add_option("--until", options.until, "Begun on this day (UTC) or earlier")->type_name("DATE");
  command.add_option("--verdict", filter.verdict, "Verdict")
      ->check(CLI::IsMember({"open", "accepted", "re-pressed", "scrapped", "held"}));
  command.add_option("--serial", filter.serial_prefix, "Beginning of the serial");
  command.add_option("--recipe", filter.recipe_id, "Recipe");
  command.add_option("--job", filter.job, "Job");
  command.add_option("--operator", filter.operator_id, "Operator who began it");
  command.add_option("--rope-lot", filter.rope_lot, "Rope lot");
  command.add_option("--terminal-lot", filter.terminal_lot, "Terminal lot");
  command.add_option("--die-pair", filter.die_pair_id, "Die pair");
  command.add_option("--gauge", filter.gauge_id, "Gauge that some reading was taken with");
  command.add_option("--finding", filter.finding_code,
                     "Finding told by some entry, by its code, refusals too");
  command.add_option(
      "--text", filter.text,
      "Words in the job, the lots and other ids, certificates, reasons and remarks; the last one may "
      "be the beginning of a word");
}

ports::FittingFilter filter_of(const FilterOptions& options) {
  auto filter = options.filter;
  if (!options.from.empty()) filter.from_utc_us = day_start("--from", options.from);
  if (!options.until.empty()) filter.until_utc_us = day_start("--until", options.until) + review::us_per_day;
  if (!filter.after_serial.empty() && !record::number_of(filter.after_serial))
    throw CLI::ValidationError("--after", fmt::format("found \"{}\", expected a whole serial, for example {}",
                                                      filter.after_serial, record::serial_of(1)));
  return filter;
}

}  // namespace shankwright::command
