#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <iostream>
#include <memory>

#include "main/commands.hpp"
#include "main/fitting_filter_options.hpp"
#include "record/store.hpp"
#include "review/fitting_lines.hpp"
#include "review/time.hpp"

namespace shankwright::command {
namespace {

struct Options {
  FilterOptions conditions;
  std::string data = "data";
  bool csv = false, json = false, entries = false, bites = false;
};

/// Lines gathered into pieces that are worth a call of the system.
class Output {
 public:
  std::string lines;
  [[nodiscard]] bool pass_on(bool rest) {
    constexpr std::size_t piece = 1U << 16U;
    if (lines.size() < piece && !rest) return true;
    const bool whole = std::fwrite(lines.data(), 1, lines.size(), stdout) == lines.size();
    lines.clear();
    return whole && (!rest || std::fflush(stdout) == 0);
  }
};

/// How many so far, on a terminal only, and not when the lines themselves go there.
class Progress {
 public:
  void told(std::int64_t done) const {
    if (shown_ && done % 10'000 == 0) fmt::print(stderr, "\r{} fittings ", done);
  }
  ~Progress() {
    if (shown_) fmt::print(stderr, "\r{:40}\r", "");
  }

 private:
  bool shown_ = ::isatty(STDERR_FILENO) == 1 && ::isatty(STDOUT_FILENO) != 1;
};

void append_trace(std::string& out, const std::vector<ports::Sample>& trace) {
  out += ",\"rows\":[";
  for (const auto& sample : trace)
    fmt::format_to(std::back_inserter(out), "{}[{},{},{}]", &sample == trace.data() ? "" : ",",
                   sample.time_ms, sample.pressure_bar, sample.gap_mm);
  out += ']';
}

void append_entry(std::string& out, const ports::StoredEntry& stored) {
  const auto& entry = stored.entry;
  out +=
      fmt::format("{{\"sequence\":{},\"at_utc\":\"{}\"", stored.sequence, review::utc_text(entry.at_utc_us));
  for (const auto& [name, text] : std::initializer_list<std::pair<const char*, const std::string&>>{
           {"kind", entry.kind}, {"event", entry.event}, {"actor", entry.actor}, {"stage", entry.stage}}) {
    out += fmt::format(",\"{}\":", name);
    review::append_json_text(out, text);
  }
  out += ",\"body\":";
  review::append_json_body(out, entry.body_json);
  if (!entry.trace.empty()) append_trace(out, entry.trace);
  out += '}';
}

std::optional<Problem> append_detail(std::string& out, const record::SqliteStore& store,
                                     const std::string& serial, const Options& options) {
  const auto entries = store.entries(serial, options.bites);
  if (!entries) return entries.problem();
  out += options.entries ? ",\"entries\":[" : ",\"bites\":[";
  bool first = true;
  for (const auto& stored : entries.value()) {
    if (!options.entries && stored.entry.trace.empty()) continue;
    if (!first) out += ',';
    first = false;
    append_entry(out, stored);
  }
  out += ']';
  return std::nullopt;
}

int failed(const std::string& text) {
  std::cerr << "shankwright: " << text << '\n';
  return 3;
}

int write_all(const Options& options) {
  const auto filter = filter_of(options.conditions);
  const auto store = record::SqliteStore::open_to_read(options.data);
  if (!store) return failed(store.problem().text());
  Output output;
  if (options.csv) review::append_csv_heading(output.lines);
  std::int64_t count = 0;
  std::optional<Problem> trouble;
  bool written = true;
  const Progress progress;
  const auto done = store.value()->each_fitting(filter, [&](const ports::FittingRow& row) {
    if (options.csv) {
      review::append_csv_line(output.lines, row);
    } else {
      review::append_json_members(output.lines, row);
      if (options.entries || options.bites)
        trouble = append_detail(output.lines, *store.value(), row.serial, options);
      output.lines += "}\n";
    }
    progress.told(++count);
    written = output.pass_on(false);
    return written && !trouble;
  });
  if (!done) return failed(done.problem().text());
  if (trouble) return failed(trouble->text());
  if (!written || !output.pass_on(true)) return failed("the output could not be written whole");
  if (count == 0) std::cerr << "shankwright: no fitting in the record fits\n";
  return count == 0 ? 1 : 0;
}

}  // namespace

void add_export(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("export", "Write every fitting that fits, one a line");
  command->footer(
      "All conditions must hold; without any, every fitting is written, oldest first, in as little memory as "
      "one\n"
      "takes. What is recorded meanwhile may be among them.\n"
      "Examples:\n"
      "  shankwright export --csv --rope-lot L-2207 > lot.csv\n"
      "  shankwright export --json --entries --gauge caliper-1 --from 2031-05-01 > suspect.jsonl\n"
      "CSV is RFC 4180 with a heading; its cells stand as recorded, so import them as text. JSON is one "
      "object a\n"
      "line. Times are UTC.\n"
      "Exit 0 when something was written, 1 when nothing fits, 2 wrong usage, 3 when the record cannot be "
      "read or\n"
      "the output not be written.");
  const auto options = std::make_shared<Options>();
  add_filter_options(*command, options->conditions);
  auto* const form = command->add_option_group("form", "How lines are written");
  form->add_flag("--csv", options->csv, "Comma-separated values");
  auto* const json = form->add_flag("--json", options->json, "JSON");
  form->require_option(1);
  command->add_flag("--entries", options->entries, "With every entry of each fitting")->needs(json);
  command
      ->add_flag("--bites", options->bites,
                 "With every bite and its trace, rows of time in ms, pressure in bar and gap in mm")
      ->needs(json);
  command->add_option("--data", options->data, "Data folder of the station")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->callback([options, &exit_code] { exit_code = write_all(*options); });
}

}  // namespace shankwright::command
