#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <iostream>

#include "simulators/history/history.hpp"

namespace {

using namespace shankwright;

int run(const std::string& data, const history::HistoryOptions& options) {
  record::StoreOptions filling;
  filling.check_file_up_to_bytes = 0;
  filling.fill_without_safety = true;
  auto opened = record::SqliteStore::open(data, filling);
  if (!opened) {
    std::cerr << "history-generator: " << opened.problem().text() << '\n';
    return 3;
  }
  auto store = std::move(opened).value();
  std::function<void(std::int64_t)> progress;
  if (::isatty(STDERR_FILENO) == 1)
    progress = [&](std::int64_t done) { fmt::print(stderr, "\r{} of {} fittings ", done, options.fittings); };
  const auto written = history::write_history(*store, options, progress);
  if (progress) fmt::print(stderr, "\r{:60}\r", "");
  const auto finished = written ? store->finish_filling() : std::optional(written.problem());
  if (finished) {
    std::cerr << "history-generator: " << finished->text() << '\n';
    return 3;
  }
  const auto& figures = written.value();
  std::cout << fmt::format("{} fittings, {} entries, {} bites, {} samples\n", figures.fittings,
                           figures.entries, figures.traces, figures.samples);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{
      "Fills a record with invented fittings (demo data) for tests of search at scale.\n"
      "Nothing is safe against loss of power before it has ended.",
      "history-generator"};
  std::string data;
  history::HistoryOptions options;
  app.add_option("--data", data, "Data folder of the record; made where there is none")->required();
  app.add_option("--fittings", options.fittings, "How many")
      ->check(CLI::Range(1, 100'000'000))
      ->capture_default_str();
  app.add_option("--seed", options.seed, "Draws everything")->capture_default_str();
  app.add_option("--years", options.years, "Over how many years from 2023 on")
      ->check(CLI::Range(1, 50))
      ->capture_default_str();
  app.add_flag("--brief", options.brief,
               "Only what search looks at: a few entries of each fitting, no traces, no seals");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  }
  options.seal_releases = !options.brief;
  try {
    return run(data, options);
  } catch (const std::exception& error) {
    std::cerr << "history-generator: " << error.what() << '\n';
    return 3;
  }
}
