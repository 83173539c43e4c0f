// Question: what do the hash chain, the triggers, the trace codec, the index and the locking cost beside the
// disk? Method: the same rows go to the record through append() and to a bare SQLite file through prepared
// statements, with the same pragmas and one transaction each. Synchronising the disk takes most of the time
// and varies from second to second, so the two take turns in short blocks, and who begins changes from block
// to block. The ratio is bare time over append() time: 1 is free, 0.8 is the goal.
#include <SQLiteCpp/SQLiteCpp.h>
#include <benchmark/benchmark.h>
#include <sqlite3.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <vector>

#include "record/chain.hpp"
#include "record/store.hpp"
#include "record/trace_codec.hpp"

namespace {

using namespace shankwright;
using Seconds = std::chrono::duration<double>;

constexpr int block = 40;

// As large as a station's own entries are.
ports::NewEntry sample_entry(const std::string& serial, std::size_t samples) {
  ports::NewEntry entry;
  entry.at_utc_us = 1'932'732'000'000'000;
  entry.serial = serial;
  entry.kind = "evidence";
  entry.event = "rope_diameter";
  entry.actor = "demo-operator";
  entry.body_json =
      R"({"event":{"readings_mm":[4.81,4.8,4.82],"tool":{"known":true,"right_kind":true,"in_date":true,)"
      R"("expanded_uncertainty_mm":0.02}},"gauge":"caliper-1","pass":0,"bite":1})";
  entry.state_json =
      R"({"stage":"measure","rope_diameter_mm":4.81,"pass":0,"bite":0,"bites_in_pass":0,"angle_by_encoder":false,)"
      R"("reseat_needed":false,"repeats":0,"re_presses":0,"token":0,"bites_done":0,"go":"not_tried",)"
      R"("no_go":"not_tried","surface":"not_looked_at"})";
  entry.stage = "measure";
  for (std::size_t index = 0; index < samples; ++index)
    entry.trace.push_back({static_cast<std::uint32_t>(index * 2),
                           std::round(2800 * std::sin(static_cast<double>(index) / 200)) / 10,
                           std::round(3000 - 2.9 * static_cast<double>(index)) / 1000});
  return entry;
}

class Bare {
 public:
  Bare(const std::filesystem::path& file, const ports::NewEntry& entry) : entry_(entry) {
    check(sqlite3_open(file.c_str(), &database_));
    run("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
        "PRAGMA journal_size_limit=67108864;"
        "CREATE TABLE entries (sequence INTEGER PRIMARY KEY, at_utc_us INTEGER NOT NULL, serial TEXT NOT "
        "NULL,"
        " kind TEXT NOT NULL, event TEXT NOT NULL, actor TEXT NOT NULL, body_json TEXT NOT NULL,"
        " state_json TEXT NOT NULL, stage TEXT NOT NULL, opening_json TEXT NOT NULL, trace_hash BLOB,"
        " previous_hash BLOB NOT NULL, hash BLOB NOT NULL) STRICT;"
        "CREATE INDEX entries_of_serial ON entries (serial, sequence);"
        "CREATE TABLE traces (sequence INTEGER PRIMARY KEY REFERENCES entries (sequence), samples INTEGER "
        "NOT NULL,"
        " bytes BLOB NOT NULL) STRICT;"
        "CREATE TABLE fitting_index (number INTEGER PRIMARY KEY, changed_utc_us INTEGER NOT NULL,"
        " stage TEXT NOT NULL, verdict TEXT NOT NULL,"
        " state_sequence INTEGER NOT NULL REFERENCES entries (sequence)) STRICT;");
    prepare("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", &insert_);
    prepare("INSERT INTO traces VALUES (?, ?, ?)", &trace_);
    prepare("INSERT OR REPLACE INTO fitting_index VALUES (1, ?, ?, 'open', ?)", &index_);
    prepare("BEGIN IMMEDIATE", &begin_);
    prepare("COMMIT", &commit_);
    if (!entry.trace.empty()) bytes_ = record::encode_trace(entry.trace);
    hash_ = record::hash_of(bytes_);
  }
  ~Bare() {
    for (auto* statement : {insert_, trace_, index_, begin_, commit_}) sqlite3_finalize(statement);
    sqlite3_close(database_);
  }
  Bare(const Bare&) = delete;
  Bare& operator=(const Bare&) = delete;

  void append() {
    ++sequence_;
    step(begin_);
    sqlite3_bind_int64(insert_, 1, sequence_);
    sqlite3_bind_int64(insert_, 2, entry_.at_utc_us);
    int column = 3;

    for (const auto* text : {&entry_.serial, &entry_.kind, &entry_.event, &entry_.actor, &entry_.body_json,
                             &entry_.state_json, &entry_.stage, &nothing_})
      sqlite3_bind_text(insert_, column++, text->data(), static_cast<int>(text->size()), SQLITE_STATIC);
    if (!bytes_.empty()) bind_hash(11);
    bind_hash(12);
    bind_hash(13);
    step(insert_);
    if (!bytes_.empty()) {
      sqlite3_bind_int64(trace_, 1, sequence_);
      sqlite3_bind_int64(trace_, 2, static_cast<sqlite3_int64>(entry_.trace.size()));
      sqlite3_bind_blob(trace_, 3, bytes_.data(), static_cast<int>(bytes_.size()), SQLITE_STATIC);
      step(trace_);
    }
    sqlite3_bind_int64(index_, 1, entry_.at_utc_us);
    sqlite3_bind_text(index_, 2, entry_.stage.data(), static_cast<int>(entry_.stage.size()), SQLITE_STATIC);
    sqlite3_bind_int64(index_, 3, sequence_);
    step(index_);
    step(commit_);
  }

 private:
  void bind_hash(int column) {
    sqlite3_bind_blob(insert_, column, hash_.data(), static_cast<int>(hash_.size()), SQLITE_STATIC);
  }
  void check(int code) const {
    if (code != SQLITE_OK) throw std::runtime_error(sqlite3_errmsg(database_));
  }
  void run(const char* sql) { check(sqlite3_exec(database_, sql, nullptr, nullptr, nullptr)); }
  void prepare(const char* sql, sqlite3_stmt** statement) {
    check(sqlite3_prepare_v3(database_, sql, -1, SQLITE_PREPARE_PERSISTENT, statement, nullptr));
  }
  void step(sqlite3_stmt* statement) {
    if (sqlite3_step(statement) != SQLITE_DONE) throw std::runtime_error(sqlite3_errmsg(database_));
    sqlite3_reset(statement);
  }

  const ports::NewEntry entry_;
  const std::string nothing_;
  std::string bytes_;
  record::Hash hash_{};
  sqlite3* database_ = nullptr;
  sqlite3_stmt *insert_ = nullptr, *trace_ = nullptr, *index_ = nullptr, *begin_ = nullptr,
               *commit_ = nullptr;
  sqlite3_int64 sequence_ = 0;
};

template <typename Work>
double seconds_of(const Work& work) {
  const auto begin = std::chrono::steady_clock::now();
  for (int index = 0; index < block; ++index) work();
  return Seconds(std::chrono::steady_clock::now() - begin).count();
}

// Argument: samples in each entry's trace.
void append_against_bare(benchmark::State& state) {
  std::string name = (std::filesystem::temp_directory_path() / "shankwright-benchmark-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder to write in");
  const std::filesystem::path folder = name;
  {
    const auto opened = record::SqliteStore::open(folder / "data");
    auto& store = *opened.value();
    const auto serial = store.reserve_serial(1);
    const auto entry = sample_entry(serial.value(), static_cast<std::size_t>(state.range(0)));
    ports::FittingRow row;
    row.serial = entry.serial;
    if (!store.open_fitting(row, entry).ok()) throw std::runtime_error("no fitting");
    Bare bare(folder / "bare.sqlite3", entry);
    const auto ours = [&] {
      if (!store.append({entry}).ok()) throw std::runtime_error("append failed");
    };
    const auto theirs = [&] { bare.append(); };
    seconds_of(ours);
    seconds_of(theirs);
    double ours_s = 0, theirs_s = 0;
    std::vector<double> ratios;
    bool ours_first = false;
    for (auto iteration : state) {
      (void)iteration;
      ours_first = !ours_first;
      double mine = ours_first ? seconds_of(ours) : 0;
      const double other = seconds_of(theirs);
      if (!ours_first) mine = seconds_of(ours);
      ours_s += mine;
      theirs_s += other;
      ratios.push_back(other / mine);
      state.SetIterationTime(mine);
    }
    std::nth_element(ratios.begin(), ratios.begin() + static_cast<std::ptrdiff_t>(ratios.size() / 2),
                     ratios.end());
    const auto events = static_cast<double>(ratios.size()) * block;
    state.counters["append_per_s"] = events / ours_s;
    state.counters["bare_per_s"] = events / theirs_s;
    state.counters["ratio"] = theirs_s / ours_s;
    state.counters["ratio_median"] = ratios[ratios.size() / 2];
  }
  std::filesystem::remove_all(folder);
}

}  // namespace

BENCHMARK(append_against_bare)
    ->ArgName("samples")
    ->Arg(0)
    ->Arg(300)
    ->Iterations(100)
    ->UseManualTime()
    ->Unit(benchmark::kMillisecond);

BENCHMARK_MAIN();
