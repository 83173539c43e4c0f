#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "main/commands.hpp"
#include "record/key_folder.hpp"
#include "record/verify.hpp"

namespace shankwright::command {
namespace {

using nlohmann::ordered_json;

struct Options {
  std::string record = "data", public_key, heads;
  std::vector<std::string> codes;
  bool as_data = false, chain_only = false;
};

std::string plural(std::size_t count, const char* one) {
  return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

std::string as_json(const record::VerifyReport& report) {
  auto files = ordered_json::array(), findings = ordered_json::array();
  for (const auto& file : report.files)
    files.push_back({{"file", file.file.string()},
                     {"first_entry", file.first_sequence},
                     {"last_entry", file.last_sequence},
                     {"entries", file.entries}});
  for (const auto& finding : report.findings)
    findings.push_back(
        {{"entry", finding.sequence > 0 ? ordered_json(finding.sequence) : ordered_json(nullptr)},
         {"what", finding.what}});
  ordered_json seal = nullptr;
  if (report.newest_seal)
    seal = {{"entry", report.newest_seal->sequence},
            {"head", report.newest_seal->head_hex},
            {"public_key", report.newest_seal->public_key_hex},
            {"why", report.newest_seal->why}};
  return ordered_json{{"sound", report.sound()},
                      {"entries", report.entries},
                      {"traces", report.traces},
                      {"fittings", report.fittings},
                      {"newest_entry", report.newest},
                      {"newest_hash", report.newest_hash_hex},
                      {"seals", report.seals},
                      {"newest_seal", seal},
                      {"public_keys", report.public_keys},
                      {"codes_fit", report.codes_fit},
                      {"heads_fit", report.heads_fit},
                      {"files", files},
                      {"findings", findings},
                      {"notes", report.notes}}
      .dump(2, ' ', false, ordered_json::error_handler_t::replace);
}

std::string as_text(const record::VerifyReport& report, const Options& options) {
  std::string out;
  for (const auto& file : report.files)
    out += fmt::format("{}: entries {} to {}\n", file.file.string(), file.first_sequence, file.last_sequence);
  out += fmt::format("  {} {}, {}, {}: every hash computed anew\n", report.entries,
                     report.entries == 1 ? "entry" : "entries",
                     plural(static_cast<std::size_t>(report.traces), "trace"),
                     plural(static_cast<std::size_t>(report.fittings), "fitting"));
  if (report.newest_seal)
    out += fmt::format("  {}, the newest over entry {} of {} ({})\n",
                       plural(static_cast<std::size_t>(report.seals), "seal"), report.newest_seal->sequence,
                       report.newest, report.newest_seal->why);
  if (!report.public_keys.empty())
    out += fmt::format("  sealed now with key {}\n", report.public_keys.back());
  if (!options.codes.empty())
    out += fmt::format("  {} of {} fit\n", report.codes_fit, plural(options.codes.size(), "code"));
  if (!options.heads.empty())
    out += fmt::format("  {} kept in {} fit\n", plural(report.heads_fit, "seal"), options.heads);
  for (const auto& note : report.notes) out += "Note: " + note + "\n";
  for (const auto& finding : report.findings) out += "! " + finding.what + "\n";
  out += report.sound() ? "Sound: all of it is as it was written.\n"
                        : fmt::format(
                              "NOT SOUND: {}. Keep this record as it is and call the person in charge of "
                              "records.\n",
                              plural(report.findings.size(), "finding"));
  return out;
}

/// One line on a terminal, written over itself. A pipe gets nothing of it.
class ProgressLine {
 public:
  [[nodiscard]] bool shown() const { return ::isatty(STDERR_FILENO) == 1; }
  void show(const record::VerifyProgress& now) {
    const auto at = std::chrono::steady_clock::now();
    if (at - last_ < std::chrono::milliseconds(200)) return;
    last_ = at;
    fmt::print(stderr, "\r{:<76}", words(now));
  }
  ~ProgressLine() {
    if (last_ != std::chrono::steady_clock::time_point{}) fmt::print(stderr, "\r{:76}\r", "");
  }

 private:
  static std::string words(const record::VerifyProgress& now) {
    switch (now.part) {
      case record::VerifyPart::pages:
        return "1 of 4: whether the file's pages are whole";
      case record::VerifyPart::hashes:
        return fmt::format("2 of 4: every hash and seal anew, {} of {} entries", now.done, now.of);
      case record::VerifyPart::index_made:
        return fmt::format("3 of 4: the index anew, {} of {} entries", now.done, now.of);
      case record::VerifyPart::index_looked:
        return "4 of 4: the index held against it";
    }
    return "";
  }
  std::chrono::steady_clock::time_point last_{};
};

int verify(const Options& options) {
  record::VerifyWish wish;
  wish.record = options.record;
  wish.codes = options.codes;
  wish.compare_index = !options.chain_only;
  if (!options.heads.empty()) wish.heads_file = options.heads;
  if (!options.public_key.empty()) {
    const auto key = record::read_public_key(options.public_key);
    if (!key) throw CLI::ValidationError("--public-key", key.problem().text());
    wish.trusted_key = key.value();
  }
  const auto report = [&] {
    ProgressLine line;
    if (line.shown())
      wish.watch = [&](const record::VerifyProgress& now) {
        line.show(now);
        return true;
      };
    return record::verify(wish);
  }();
  if (!report) {
    std::cerr << "shankwright: " << report.problem().text() << '\n';
    return report.problem().place == "code" ? 2 : 3;
  }
  std::cout << (options.as_data ? as_json(report.value()) + "\n" : as_text(report.value(), options))
            << std::flush;
  if (!std::cout) {
    std::cerr << "shankwright: the output could not be written whole\n";
    return 3;
  }
  return report.value().sound() ? 0 : 1;
}

}  // namespace

void add_verify(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("verify", "Show that nobody has altered the record");
  command->footer(
      "Computes every hash of every entry, trace and recipe anew, checks every seal, and compares the "
      "index.\n"
      "Needs the files alone: works offline on a copy. What a certificate or the second place says is held\n"
      "against the record, which also shows a cut-off end or an older copy.\n"
      "Examples:\n"
      "  shankwright verify data\n"
      "  shankwright verify copy.sqlite3 --public-key station-1.public --heads /mnt/stick/heads.txt\n"
      "  shankwright verify data --code 5229-0A1B2C3D4E5F60718293-4X\n"
      "Exit 0 when sound, 1 when not, 2 wrong usage, 3 when the record cannot be read.");
  const auto options = std::make_shared<Options>();
  command->add_option("RECORD,--data", options->record, "Data folder, copied record file or closed period")
      ->envname("SHANKWRIGHT_DATA")
      ->capture_default_str();
  command->add_option(
      "--public-key", options->public_key,
      "A public key of the record kept elsewhere: 64 digits, or a file that begins with them");
  command->add_option("--heads", options->heads,
                      "File of sealed heads kept on another disk (station --heads)");
  command->add_option("--code", options->codes,
                      "Integrity code of a certificate, short or whole; may be repeated");
  command->add_flag("--chain-only", options->chain_only, "Leave out the comparison of the index");
  command->add_flag("--json", options->as_data, "Print the result as JSON");
  command->callback([options, &exit_code] { exit_code = verify(*options); });
}

}  // namespace shankwright::command
