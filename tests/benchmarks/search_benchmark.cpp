// Questions: what does a look-up by serial cost beside a bare look-up in SQLite's own index, and how long
// does the first page of every search take? Method: one record, filled by the history generator (or the one
// that SHANKWRIGHT_RECORD names), asked in one process. The bare look-up is one prepared statement on the
// same file that takes the same columns into the same strings. The two take turns in blocks; serials are
// drawn at random.
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <stdexcept>
#include <vector>

#include "record/data_folder.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/dossier.hpp"
#include "review/nearest_serials.hpp"
#include "simulators/history/history.hpp"

namespace {

using namespace shankwright;
using Clock = std::chrono::steady_clock;

template <typename Work>
double us_of(const Work& work) {
  const auto begin = Clock::now();
  work();
  return std::chrono::duration<double, std::micro>(Clock::now() - begin).count();
}

double at_share(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
}

template <typename T>
T good(const Result<T>& result) {
  if (!result) throw std::runtime_error(result.problem().text());
  return result.value();
}

std::int64_t fittings_in(const std::filesystem::path& folder) {
  SQLite::Database database(record::record_file(folder).string(), SQLite::OPEN_READONLY);
  return database.execAndGet("SELECT max(number) FROM fitting_index").getInt64();
}

void look_up(const record::SqliteStore& store, const std::filesystem::path& folder, std::int64_t fittings) {
  constexpr int rounds = 200, block = 50;
  SQLite::Database database(record::record_file(folder).string(), SQLite::OPEN_READONLY);
  SQLite::Statement bare(
      database,
      "SELECT f.serial, f.recipe_id, f.recipe_revision, f.job, f.operator_id, f.rope_lot,"
      " f.terminal_lot, f.die_pair_id, f.stage, f.verdict, f.started_utc_us, f.changed_utc_us,"
      " s.state_json, d.content FROM fitting_index f JOIN fitting_states s USING (number)"
      " JOIN documents d ON d.hash = f.document_hash WHERE f.serial = ?");
  std::mt19937_64 random(1);
  std::vector<double> ours, theirs, ratios;
  for (int round = 0; round < rounds; ++round) {
    std::vector<std::string> serials;
    for (int index = 0; index < block; ++index)
      serials.push_back(
          record::serial_of(1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(fittings))));
    double mine = 0, other = 0;
    const auto ask = [&] {
      for (const auto& serial : serials) {
        ours.push_back(us_of([&] { (void)store.fitting(serial); }));
        mine += ours.back();
      }
    };
    const auto ask_bare = [&] {
      for (const auto& serial : serials) {
        theirs.push_back(us_of([&] {
          bare.bindNoCopy(1, serial);
          ports::FittingRow row;
          if (bare.executeStep()) {
            row.serial = bare.getColumn(0).getString();
            row.recipe_id = bare.getColumn(1).getString();
            row.job = bare.getColumn(3).getString();
            row.operator_id = bare.getColumn(4).getString();
            row.rope_lot = bare.getColumn(5).getString();
            row.terminal_lot = bare.getColumn(6).getString();
            row.die_pair_id = bare.getColumn(7).getString();
            row.stage = bare.getColumn(8).getString();
            row.verdict = bare.getColumn(9).getString();
            row.state_json = bare.getColumn(12).getString();
            row.joined_recipe_json = bare.getColumn(13).getString();
          }
          bare.reset();
        }));
        other += theirs.back();
      }
    };
    // Who goes first warms the file's pages for the other: turn by turn.
    if (round % 2 == 0) ask();
    ask_bare();
    if (round % 2 != 0) ask();
    ratios.push_back(mine / other);
  }
  fmt::print(
      "serial look-up: median {:.1f} us, p99 {:.1f} us; bare {:.1f} us, p99 {:.1f} us; ratio, median of "
      "blocks"
      " {:.2f} (goal at most 1.5)\n",
      at_share(ours, 0.5), at_share(ours, 0.99), at_share(theirs, 0.5), at_share(theirs, 0.99),
      at_share(ratios, 0.5));
}

void first_page(const record::SqliteStore& store, const std::string& what,
                const ports::FittingFilter& filter) {
  std::vector<double> times;
  std::size_t rows = 0;
  for (int round = 0; round < 9; ++round)
    times.push_back(us_of([&] { rows = good(store.find(filter)).size(); }));
  fmt::print("first page, {:<34} {:>4} rows, median {:>8.2f} ms, most {:>8.2f} ms\n", what, rows,
             at_share(times, 0.5) / 1000, at_share(times, 1) / 1000);
}

void pages(const record::SqliteStore& store, std::int64_t fittings) {
  const auto middle = good(store.fitting(record::serial_of(fittings / 2 + 1)));
  const auto ask = [&](const std::string& what, auto change) {
    ports::FittingFilter filter;
    change(filter);
    first_page(store, what, filter);
  };
  using Filter = ports::FittingFilter;
  ask("no condition", [](Filter&) {});
  ask("job", [&](Filter& filter) { filter.job = middle.job; });
  ask("operator", [&](Filter& filter) { filter.operator_id = middle.operator_id; });
  ask("recipe", [&](Filter& filter) { filter.recipe_id = middle.recipe_id; });
  ask("rope lot", [&](Filter& filter) { filter.rope_lot = middle.rope_lot; });
  ask("terminal lot", [&](Filter& filter) { filter.terminal_lot = middle.terminal_lot; });
  ask("die pair", [&](Filter& filter) { filter.die_pair_id = middle.die_pair_id; });
  ask("gauge", [](Filter& filter) { filter.gauge_id = "caliper-1-2"; });
  ask("finding", [](Filter& filter) { filter.finding_code = "force_below_envelope"; });
  for (const auto* verdict : {"open", "accepted", "re-pressed", "scrapped", "held"})
    ask(fmt::format("verdict {}", verdict), [&](Filter& filter) { filter.verdict = verdict; });
  ask("one day", [&](Filter& filter) {
    filter.from_utc_us = middle.started_utc_us;
    filter.until_utc_us = middle.started_utc_us + 86'400'000'000;
  });
  ask("beginning of the serial", [&](Filter& filter) { filter.serial_prefix = middle.serial.substr(0, 7); });
  ask("text: a rare word", [](Filter& filter) { filter.text = "grit"; });
  ask("text: a word of every fitting", [](Filter& filter) { filter.text = "demo"; });
  ask("text: last word begun", [](Filter& filter) { filter.text = "crack part"; });
  ask("text: one letter", [](Filter& filter) { filter.text = "c"; });
  ask("text: words never together", [](Filter& filter) { filter.text = "grit lens"; });
  ask("operator, recipe, gauge, held", [&](Filter& filter) {
    filter.operator_id = middle.operator_id;
    filter.recipe_id = middle.recipe_id;
    filter.gauge_id = "caliper-1-2";
    filter.verdict = "held";
  });
  ask("two common ones never together", [&](Filter& filter) {
    filter.operator_id = "ada";
    filter.gauge_id = "caliper-1-4";
  });
  ask("job nobody knows", [](Filter& filter) { filter.job = "no such job"; });
  ask("last page of the accepted", [&](Filter& filter) {
    filter.verdict = "accepted";
    filter.after_serial = record::serial_of(fittings - 100);
  });
}

void mistyped(const record::SqliteStore& store, std::int64_t fittings) {
  std::vector<double> times;
  std::mt19937_64 random(2);
  for (int round = 0; round < 50; ++round) {
    auto typed = record::bare(
        record::serial_of(1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(fittings))));
    typed[2 + random() % 6] = '7';
    typed[random() % typed.size()] = 'Q';
    times.push_back(us_of([&] { (void)review::nearest_serials(typed, good(store.serials_near(typed)), 5); }));
  }
  fmt::print("nearest to a mistyped serial: median {:.2f} ms, most {:.2f} ms\n", at_share(times, 0.5) / 1000,
             at_share(times, 1) / 1000);
}

/// The whole dossier of fittings drawn at random, every trace in it, as the page asks for it.
void dossiers(const record::SqliteStore& store, std::int64_t fittings) {
  std::vector<double> times;
  std::size_t bytes = 0;
  std::mt19937_64 random(3);
  for (int round = 0; round < 200; ++round) {
    const auto serial =
        record::serial_of(1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(fittings)));
    times.push_back(us_of([&] { bytes += good(review::dossier_json(store, serial)).size(); }));
  }
  fmt::print("whole dossier as JSON: median {:.2f} ms, p99 {:.2f} ms, {:.0f} kB (goal under 20 ms)\n",
             at_share(times, 0.5) / 1000, at_share(times, 0.99) / 1000,
             static_cast<double>(bytes) / 1000 / static_cast<double>(times.size()));
}

void run() {
  std::filesystem::path folder, made;
  if (const char* named = std::getenv("SHANKWRIGHT_RECORD")) {
    folder = named;
  } else {
    std::string name = (std::filesystem::temp_directory_path() / "shankwright-benchmark-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder to write in");
    folder = made = name;
    record::StoreOptions filling;
    filling.fill_without_safety = true;
    const auto store = good(record::SqliteStore::open(folder, filling));
    history::HistoryOptions options;
    options.fittings = 20'000;
    options.brief = true;
    options.seal_releases = false;
    (void)good(history::write_history(*store, options));
    if (const auto problem = store->finish_filling()) throw std::runtime_error(problem->text());
  }
  const auto fittings = fittings_in(folder);
  fmt::print("{} fittings\n", fittings);
  const auto store = good(record::SqliteStore::open_to_read(folder));
  look_up(*store, folder, fittings);
  pages(*store, fittings);
  mistyped(*store, fittings);
  dossiers(*store, fittings);
  if (!made.empty()) std::filesystem::remove_all(made);
}

}  // namespace

int main() {
  try {
    run();
  } catch (const std::exception& error) {
    fmt::print(stderr, "search_benchmark: {}\n", error.what());
    return 1;
  }
}
