// Goal: no single bit of stored evidence changes unnoticed, and no entry is taken out, put in, exchanged or
// repeated unnoticed. Method: a record with sealed fittings lies on a simulated disk; seeded bits are
// flipped, as many in each kind of page that SQLite has ("Database File Format", 1.6 and 4.1), and the record
// is verified with one integrity code from outside. What verify does not notice must be outside evidence:
// everything that the record holds, row by row, reads as before. One thing is counted apart: the list of
// words of the free-text search, derived from the entries and not compared by verify. A flip there may hide a
// fitting from that search or show one too many; rebuilding the index mends it. SHANKWRIGHT_SEED repeats a
// run, SHANKWRIGHT_FLIPS asks for another number of flips.
#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <map>
#include <set>

#include "history.hpp"
#include "record/connection.hpp"
#include "record/integrity.hpp"
#include "record/seal_code.hpp"
#include "record/verify.hpp"
#include "scratch_record.hpp"
#include "support/simulated_disk.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;
using support::SimulatedDisk;

namespace {

using std::filesystem::path;

path journal_of(const path& file) {
  return file.string() + "-wal";
}

struct Image {
  std::string main, journal;  // journal empty where the record was closed
};

// A record on the simulated disk, where changing and opening it costs next to nothing.
class Bench {
 public:
  Bench() : disk_(folder_.data(), 1) {
    std::filesystem::create_directories(folder_.data());
    std::ofstream(folder_.file()).flush();  // that it exists is asked of the real disk
    History history(11);
    auto store = opened(folder_);
    for (int fitting = 0; fitting < 2; ++fitting) REQUIRE(history.whole_fitting(*store));
    for (int batch = 0; batch < 20; ++batch)  // enough small ones for an index of two storeys
      good(store->append(std::vector<ports::NewEntry>(12, entry_of("", "started", 1'000'000 + batch))));
    SQLite::Database(folder_.file().string(), SQLite::OPEN_READWRITE).exec("PRAGMA wal_checkpoint(TRUNCATE)");
    REQUIRE(history.whole_fitting(*store));
    for (const auto& serial : good(store->serials()))
      code_ = record::short_code(good(store->seal_over(serial)));
    open_ = {*disk_.content(folder_.file()), disk_.content(journal_of(folder_.file())).value_or("")};
    store.reset();
    {  // pages that were used and are free now
      SQLite::Database database(folder_.file().string(), SQLite::OPEN_READWRITE);
      database.exec(
          "CREATE TABLE filling (x); INSERT INTO filling VALUES (zeroblob(60000)); DROP TABLE filling;"
          "PRAGMA wal_checkpoint(TRUNCATE)");
    }
    closed_ = {*disk_.content(folder_.file()), ""};
  }

  [[nodiscard]] const Image& closed() const { return closed_; }
  [[nodiscard]] const Image& open() const { return open_; }
  [[nodiscard]] const std::string& code() const { return code_; }
  [[nodiscard]] const ScratchFolder& folder() const { return folder_; }

  void put(const Image& image) {
    disk_.put(folder_.file(), image.main);
    if (image.journal.empty())
      disk_.remove(journal_of(folder_.file()));
    else
      disk_.put(journal_of(folder_.file()), image.journal);
  }

  // What verify finds, the first of it in words; empty when the record is sound.
  std::string found(bool with_code = true) {
    record::VerifyWish wish;
    wish.record = folder_.data();
    if (with_code) wish.codes.push_back(code_);
    const auto report = record::verify(wish);
    if (!report) return report.problem().text();
    return report.value().sound() ? "" : report.value().findings.front().what;
  }

  enum class Look : std::uint8_t { chain_broken, otherwise, words_changed, as_before };

  // The parts of verify that cost little, and what the rows say: what the chain shows broken, verify finds.
  Look look_again(const std::vector<std::string>& rows, const std::vector<std::string>& words) {
    try {
      const auto database = record::connect_reader(folder_.file());
      if (record::check_chain(*database, 1).broken) return Look::chain_broken;
      if (database->execAndGet("PRAGMA integrity_check(1)").getString() != "ok") return Look::otherwise;
      if (rows_in(*database, false) != rows) return Look::otherwise;
      return rows_in(*database, true) == words ? Look::as_before : Look::words_changed;
    } catch (const SQLite::Exception&) {
      return Look::otherwise;
    }
  }

  // Every row of every table, in the order of its key; or those of the free-text search's list of words
  // alone.
  std::vector<std::string> all_rows(bool words = false) {
    return rows_in(*record::connect_reader(folder_.file()), words);
  }
  static std::vector<std::string> rows_in(SQLite::Database& database, bool words) {
    std::vector<std::string> tables, out;
    SQLite::Statement names(
        database, "SELECT name FROM sqlite_schema WHERE type = 'table' AND rootpage > 0 ORDER BY name");
    while (names.executeStep()) tables.push_back(names.getColumn(0).getString());
    for (const auto& table : tables) {
      if (words != table.starts_with("texts_")) continue;
      SQLite::Statement rows(database, "SELECT * FROM \"" + table + "\" ORDER BY 1");
      while (rows.executeStep()) {
        std::string row = table;
        for (int column = 0; column < rows.getColumnCount(); ++column) {
          const auto cell = rows.getColumn(column);
          row += "|" + std::to_string(cell.getType()) + ":" + cell.getString();
        }
        out.push_back(std::move(row));
      }
    }
    return out;
  }

  // The record's own door on whatever is there: it answers or refuses, and never falls over.
  void look_through_the_door() {
    const auto store = SqliteStore::open_to_read(folder_.data());
    if (!store) return;
    const auto serials = store.value()->serials();
    if (!serials) return;
    for (const auto& serial : serials.value()) {
      (void)store.value()->entries(serial, true).ok();
      (void)store.value()->fitting(serial).ok();
    }
  }

 private:
  ScratchFolder folder_;
  SimulatedDisk disk_;
  std::string code_;
  Image closed_, open_;
};

std::uint32_t number_at(const std::string& bytes, std::size_t place) {
  std::uint32_t out = 0;
  for (std::size_t index = 0; index < 4; ++index)
    out = out << 8 | static_cast<unsigned char>(bytes[place + index]);
  return out;
}

constexpr std::size_t page_size = 4096;
struct Stretch {
  std::size_t from = 0, size = 0;
};

// The file's pages by kind, from their own bytes.
std::map<std::string, std::vector<Stretch>> pages_by_kind(const std::string& file) {
  std::map<std::string, std::vector<Stretch>> out;
  std::set<std::uint32_t> free;
  for (auto trunk = number_at(file, 32); trunk != 0;) {
    const auto at = (trunk - 1) * page_size;
    free.insert(trunk);
    for (std::uint32_t leaf = 0; leaf < number_at(file, at + 4); ++leaf)
      free.insert(number_at(file, at + 8 + 4 * leaf));
    trunk = number_at(file, at);
  }
  out["file header"].push_back({0, 100});
  for (std::uint32_t page = 1; page <= file.size() / page_size; ++page) {
    const auto at = (page - 1) * page_size, head = page == 1 ? at + 100 : at;
    const Stretch stretch{head, at + page_size - head};
    const int kind = file[head];
    if (free.count(page) > 0)
      out["free page"].push_back(stretch);
    else
      out[kind == 2    ? "index interior"
          : kind == 5  ? "table interior"
          : kind == 10 ? "index leaf"
          : kind == 13 ? "table leaf"
                       : "overflow"]
          .push_back(stretch);
  }
  return out;
}

std::map<std::string, std::vector<Stretch>> journal_by_kind(const std::string& journal) {
  std::map<std::string, std::vector<Stretch>> out;
  out["journal header"].push_back({0, 32});
  for (std::size_t at = 32; at + 24 + page_size <= journal.size(); at += 24 + page_size) {
    out["journal frame header"].push_back({at, 24});
    out["journal frame"].push_back({at + 24, page_size});
  }
  return out;
}

std::uint64_t chosen_seed() {
  const char* const given = std::getenv("SHANKWRIGHT_SEED");
  return given != nullptr ? std::strtoull(given, nullptr, 10) : std::random_device{}();
}

struct Tally {
  std::size_t flipped = 0, noticed = 0, outside = 0, words = 0, missed = 0;
};

// Flips `flips` bits, one at a time, as many in each kind.
std::map<std::string, Tally> flip(Bench& bench, const Image& image, bool in_journal, std::size_t flips,
                                  std::mt19937_64& random, std::string& first_missed) {
  bench.put(image);
  const auto rows = bench.all_rows(), words = bench.all_rows(true);
  const auto kinds = in_journal ? journal_by_kind(image.journal) : pages_by_kind(image.main);
  std::map<std::string, Tally> out;
  auto turn = kinds.begin();
  for (std::size_t done = 0; done < flips; ++done) {
    const auto& [kind, stretches] = *turn;
    if (++turn == kinds.end()) turn = kinds.begin();
    const auto& stretch = stretches[random() % stretches.size()];
    auto byte = stretch.from + random() % stretch.size;
    const auto bit = random() % 8;
    auto changed = image;
    auto& where = in_journal ? changed.journal : changed.main;
    // Every second one where something is written: much of a page is empty.
    for (int again = 0; done % 2 == 0 && again < 40 && where[byte] == 0; ++again)
      byte = stretch.from + random() % stretch.size;
    where[byte] = static_cast<char>(static_cast<unsigned char>(where[byte]) ^ (1U << bit));
    bench.put(changed);
    auto& tally = out[kind];
    ++tally.flipped;
    if (random() % 20 == 0) bench.look_through_the_door();
    // Every row reads as before, and every index leads to it: outside evidence. All else verify must notice;
    // of those whose chain is broken one in eight is asked of verify as a whole, of the others each.
    const auto look = bench.look_again(rows, words);
    if (look == Bench::Look::as_before) {
      ++tally.outside;
      continue;
    }
    if ((look == Bench::Look::chain_broken && random() % 8 != 0) || !bench.found().empty()) {
      ++tally.noticed;
      continue;
    }
    if (look == Bench::Look::words_changed) {
      ++tally.words;
      continue;
    }
    ++tally.missed;
    bench.put(changed);
    const auto after = bench.all_rows();
    const auto [was, is] = std::mismatch(rows.begin(), rows.end(), after.begin(), after.end());
    const auto& row = was != rows.end() ? *was : is != after.end() ? *is : kind;
    std::cout << "  missed: " << kind << ", byte " << byte << ", bit " << bit << ", table "
              << row.substr(0, row.find('|')) << '\n';
    if (first_missed.empty())
      first_missed = kind + ", byte " + std::to_string(byte) + ", bit " + std::to_string(bit);
  }
  return out;
}

void report(const std::map<std::string, Tally>& tallies) {
  for (const auto& [kind, tally] : tallies)
    std::cout << "  " << kind << ": " << tally.flipped << " flipped, " << tally.noticed << " noticed, "
              << tally.outside << " outside evidence, " << tally.words << " in the search's words, "
              << tally.missed << " missed\n";
}

}  // namespace

TEST_CASE(
    "ten thousand flipped bits, in pages of every kind, are noticed or change nothing that the record says") {
  const auto seed = chosen_seed();
  INFO("SHANKWRIGHT_SEED=" << seed);
  std::mt19937_64 random(seed);
  Bench bench;
  bench.put(bench.closed());
  REQUIRE(bench.found().empty());
  std::cout << "a record of " << bench.closed().main.size() << " bytes, a journal of "
            << bench.open().journal.size() << "\n";
  bench.put(bench.open());
  REQUIRE(bench.found().empty());
  std::string missed;
  const char* const wanted = std::getenv("SHANKWRIGHT_FLIPS");
  const auto flips = wanted != nullptr ? std::strtoull(wanted, nullptr, 10) : 10'000;
  const auto in_file = flip(bench, bench.closed(), false, flips * 85 / 100, random, missed);
  const auto in_journal = flip(bench, bench.open(), true, flips * 15 / 100, random, missed);
  std::cout << "bit flips, seed " << seed << ":\n";
  report(in_file);
  report(in_journal);
  INFO("first missed: " << missed);
  CHECK(in_file.size() == 7);
  CHECK(in_journal.size() == 3);
  for (const auto& tallies : {in_file, in_journal})
    for (const auto& [kind, tally] : tallies) {
      INFO(kind);
      CHECK(tally.flipped >= flips * 4 / 100);
      CHECK(tally.missed == 0);
      CHECK(tally.words < tally.flipped / 10);
      if (kind != "free page" && kind != "file header") CHECK(tally.noticed > tally.flipped / 30);
    }
}

TEST_CASE("an entry taken out, repeated, exchanged or rewritten is named, whichever entry it is") {
  Bench bench;
  bench.put(bench.closed());
  std::int64_t newest = 0;
  {
    const auto database = record::connect_reader(bench.folder().file());
    newest = database->execAndGet("SELECT max(sequence) FROM entries").getInt64();
  }
  REQUIRE(newest > 200);
  const auto columns = std::string(
      "at_utc_us, serial, kind, event, actor, body_json, state_json, stage, opening_json, trace_hash, "
      "previous_hash, hash");
  struct Case {
    std::string name, sql;
    std::int64_t first_broken;
  };
  std::size_t tried = 0;
  for (std::int64_t at = 2; at + 2 < newest; at += 17) {
    const auto here = std::to_string(at), next = std::to_string(at + 1);
    for (const auto& [name, sql, first_broken] : std::vector<Case>{
             {"taken out", "DELETE FROM entries WHERE sequence = " + here, at + 1},
             {"taken out and closed up",
              "DELETE FROM entries WHERE sequence = " + here +
                  "; UPDATE entries SET sequence = -sequence WHERE sequence > " + here +
                  "; UPDATE entries SET sequence = -sequence - 1 WHERE sequence < 0",
              at},
             {"repeated in the next one's place",
              "DELETE FROM entries WHERE sequence = " + next + "; INSERT INTO entries SELECT " + next + ", " +
                  columns + " FROM entries WHERE sequence = " + here,
              at + 1},
             {"exchanged with the next",
              "UPDATE entries SET sequence = -" + here + " WHERE sequence = " + here +
                  "; UPDATE entries SET sequence = " + here + " WHERE sequence = " + next +
                  "; UPDATE entries SET sequence = " + next + " WHERE sequence = -" + here,
              at},
             {"rewritten", "UPDATE entries SET body_json = body_json || ' ' WHERE sequence = " + here, at}}) {
      INFO(name << ", entry " << at);
      bench.put(bench.closed());
      {
        SQLite::Database database(bench.folder().file().string(), SQLite::OPEN_READWRITE);
        std::vector<std::string> triggers;
        SQLite::Statement rows(database, "SELECT name FROM sqlite_schema WHERE type = 'trigger'");
        while (rows.executeStep()) triggers.push_back(rows.getColumn(0).getString());
        rows.reset();
        for (const auto& trigger : triggers) database.exec("DROP TRIGGER " + trigger);
        database.exec("PRAGMA foreign_keys=OFF");
        database.exec(sql);
      }
      const auto database = record::connect_reader(bench.folder().file());
      const auto chain = record::check_chain(*database, 1);
      REQUIRE(chain.broken);
      CHECK(chain.broken->sequence == first_broken);
      CHECK(chain.checked == first_broken - 1 - (name == "taken out" ? 1 : 0));
      ++tried;
    }
  }
  CHECK(tried > 50);
}

TEST_CASE("the traces of two fittings exchanged, with or without the hashes that name them, are noticed") {
  const bool with_hashes = GENERATE(false, true);
  Bench bench;
  bench.put(bench.closed());
  std::int64_t first = 0, second = 0;
  {
    SQLite::Database database(bench.folder().file().string(), SQLite::OPEN_READWRITE);
    database.exec("DROP TRIGGER traces_stay; DROP TRIGGER entries_stay");
    SQLite::Statement rows(database, "SELECT sequence FROM traces ORDER BY sequence LIMIT 2");
    REQUIRE(rows.executeStep());
    first = rows.getColumn(0).getInt64();
    REQUIRE(rows.executeStep());
    second = rows.getColumn(0).getInt64();
    rows.reset();
    const auto a = std::to_string(first), b = std::to_string(second);
    for (const std::string& table :
         with_hashes ? std::vector<std::string>{"traces", "entries"} : std::vector<std::string>{"traces"}) {
      const auto column = table == "traces" ? "bytes" : "trace_hash";
      database.exec("CREATE TEMP TABLE kept AS SELECT " + std::string(column) + " AS x FROM " + table +
                    " WHERE sequence = " + a + "; UPDATE " + table + " SET " + column + " = (SELECT " +
                    column + " FROM " + table + " WHERE sequence = " + b + ") WHERE sequence = " + a +
                    "; UPDATE " + table + " SET " + column + " = (SELECT x FROM kept) WHERE sequence = " + b +
                    "; DROP TABLE kept");
    }
  }
  const auto database = record::connect_reader(bench.folder().file());
  const auto chain = record::check_chain(*database, 1);
  REQUIRE(chain.broken);
  CHECK(chain.broken->sequence == first);
}

TEST_CASE(
    "a file cut short at any page, or an older copy in its place, is noticed by one code from a "
    "certificate") {
  Bench bench;
  std::size_t noticed = 0, tried = 0;
  const auto& whole = bench.closed().main;
  for (std::size_t pages = 1; pages < whole.size() / page_size; pages += 3, ++tried) {
    bench.put({whole.substr(0, pages * page_size), ""});
    noticed += !bench.found().empty();
  }
  CHECK(noticed == tried);
  // The journal lost: the file alone is the record as it was at its last checkpoint.
  bench.put({bench.open().main, ""});
  CHECK_FALSE(bench.found().empty());
  // The journal cut at any frame: SQLite takes what is before it, a shorter record in itself sound.
  std::size_t sound_alone = 0;
  for (std::size_t at = 32; at < bench.open().journal.size(); at += 5 * (24 + page_size)) {
    INFO("journal cut at " << at);
    bench.put({bench.open().main, bench.open().journal.substr(0, at)});
    CHECK_FALSE(bench.found().empty());
    bench.put({bench.open().main, bench.open().journal.substr(0, at)});
    sound_alone += bench.found(false).empty();
  }
  CHECK(sound_alone > 2);  // why a seal has to be kept elsewhere
}
