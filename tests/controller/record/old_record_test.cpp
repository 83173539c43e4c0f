// Goal: a record that an earlier program wrote is evidence for ever: bringing it up to date changes no entry,
// no hash, no trace and no state, and a migration cut short leaves the old version or the new one. Method:
// files in `old` (its README says how they were made) are read with plain SQL before and by the store after;
// the migration is cut at every single operation of a simulated disk, by a kill and by a power loss.
#include <zlib.h>

#include <array>
#include <fstream>
#include <iostream>
#include <map>

#include "history.hpp"
#include "record/schema.hpp"
#include "record/trace_codec.hpp"
#include "record/verify.hpp"
#include "scratch_record.hpp"
#include "support/simulated_disk.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;
using support::SimulatedDisk;

namespace {

using std::filesystem::path;

std::string unpacked(const path& file) {
  const auto in = ::gzopen(file.c_str(), "rb");
  REQUIRE(in != nullptr);
  std::string out;
  std::array<char, 65536> bytes{};
  for (int size = 0; (size = ::gzread(in, bytes.data(), bytes.size())) > 0;)
    out.append(bytes.data(), static_cast<std::size_t>(size));
  REQUIRE(::gzclose(in) == Z_OK);
  return out;
}

std::vector<path> old_records() {
  std::vector<path> out;
  for (const auto& item :
       std::filesystem::directory_iterator(path(SOURCE_DIR) / "tests/controller/record/old"))
    if (item.path().extension() == ".gz") out.push_back(item.path());
  return out;
}

// Everything a query gives, cell by cell, with types: what the columns mean is not asked.
std::vector<std::string> cells(SQLite::Database& database, const std::string& sql) {
  SQLite::Statement rows(database, sql);
  std::vector<std::string> out;
  while (rows.executeStep())
    for (int column = 0; column < rows.getColumnCount(); ++column) {
      const auto cell = rows.getColumn(column);
      out.push_back(std::to_string(cell.getType()) + ":" + cell.getString());
    }
  return out;
}

constexpr auto entries_sql =
    "SELECT sequence, at_utc_us, serial, kind, event, actor, body_json, state_json, stage, opening_json,"
    " trace_hash, previous_hash, hash FROM entries ORDER BY sequence";
constexpr auto traces_sql = "SELECT sequence, bytes FROM traces ORDER BY sequence";
constexpr auto documents_sql = "SELECT hash, content FROM documents ORDER BY hash";
constexpr auto fittings_sql =
    "SELECT serial, recipe_id, recipe_revision, job, operator_id, rope_lot, terminal_lot, die_pair_id, stage,"
    " verdict, started_utc_us, changed_utc_us FROM fitting_index ORDER BY number";

struct Evidence {
  std::vector<std::string> entries, traces, documents, fittings;
  int version = 0;
  bool operator==(const Evidence&) const = default;
};

Evidence evidence_in(const path& file) {
  SQLite::Database database(file.string());
  return {cells(database, entries_sql), cells(database, traces_sql), cells(database, documents_sql),
          cells(database, fittings_sql), database.execAndGet("PRAGMA user_version").getInt()};
}

void write_record(const ScratchFolder& folder, const std::string& bytes) {
  std::filesystem::create_directories(folder.data());
  std::ofstream(folder.file(), std::ios::binary) << bytes;
}

void check_same_evidence(const Evidence& before, const Evidence& after) {
  CHECK(after.entries == before.entries);
  CHECK(after.traces == before.traces);
  CHECK(after.documents == before.documents);
  CHECK(after.fittings == before.fittings);
}

}  // namespace

TEST_CASE("a record of every earlier version is brought up to date without touching its evidence") {
  const auto old = old_records();
  REQUIRE_FALSE(old.empty());
  for (const auto& packed : old) {
    INFO(packed.filename());
    ScratchFolder folder;
    write_record(folder, unpacked(packed));
    const auto before = evidence_in(folder.file());
    CHECK(before.version < static_cast<int>(record::schema_steps().size()));
    CHECK(before.entries.size() > 100U * 13U);
    CHECK(before.traces.size() > 10U * 2U);
    const auto reader = SqliteStore::open_to_read(folder.data());
    REQUIRE_FALSE(reader.ok());  // who may only read is told who can bring it up to date
    CHECK(reader.problem().expected.find("start the station on this folder once") != std::string::npos);
    {
      const auto store = opened(folder);
      const auto chain = good(store->check_chain());
      CHECK_FALSE(chain.broken);
      CHECK(chain.checked == static_cast<std::int64_t>(before.entries.size() / 13));
      const auto index_fault = History::index_fault_of(*store);
      CHECK(index_fault.empty());
    }
    const auto after = evidence_in(folder.file());
    CHECK(after.version == static_cast<int>(record::schema_steps().size()));
    check_same_evidence(before, after);
    record::VerifyWish wish;
    wish.record = folder.data();
    const auto verified = good(record::verify(wish));
    for (const auto& finding : verified.findings) UNSCOPED_INFO(finding.sequence << ": " << finding.what);
    CHECK(verified.sound());
  }
}

TEST_CASE("the store reads of a version 1 record what plain SQL read, entry by entry and sample by sample") {
  ScratchFolder folder;
  write_record(folder, unpacked(path(SOURCE_DIR) / "tests/controller/record/old/version-1.sqlite3.gz"));
  struct Old {
    ports::NewEntry entry;
    std::string trace, hash;
    std::int64_t samples = 0;
  };
  std::map<std::int64_t, Old> old;
  std::map<std::string, std::string> states;  // of each fitting, newest
  std::vector<std::string> serials;
  {
    SQLite::Database database(folder.file().string());
    SQLite::Statement rows(
        database,
        "SELECT e.sequence, at_utc_us, serial, kind, event, actor, body_json, state_json, stage,"
        " bytes, samples, hex(hash) FROM entries e LEFT JOIN traces USING (sequence)");
    while (rows.executeStep()) {
      auto& row = old[rows.getColumn(0).getInt64()];
      const auto text = [&](int column) { return rows.getColumn(column).getString(); };
      row.entry.at_utc_us = rows.getColumn(1).getInt64();
      row.entry.serial = text(2);
      row.entry.kind = text(3);
      row.entry.event = text(4);
      row.entry.actor = text(5);
      row.entry.body_json = text(6);
      row.entry.state_json = text(7);
      row.entry.stage = text(8);
      row.trace = text(9);
      row.samples = rows.getColumn(10).getInt64();
      row.hash = text(11);
    }
    SQLite::Statement fittings(database,
                               "SELECT f.serial, e.state_json FROM fitting_index f JOIN entries e ON"
                               " e.sequence = f.state_sequence ORDER BY f.number");
    while (fittings.executeStep()) {
      serials.push_back(fittings.getColumn(0).getString());
      states[serials.back()] = fittings.getColumn(1).getString();
    }
  }
  // "made by" in old/README.md
  REQUIRE(old.size() == 223);
  REQUIRE(serials.size() == 8);
  const auto store = opened(folder);
  CHECK(good(store->serials()) == serials);
  auto all = serials;
  all.push_back("");
  std::size_t read = 0, samples = 0;
  for (const auto& serial : all)
    for (const auto& stored : good(store->entries(serial, true))) {
      INFO("entry " << stored.sequence);
      REQUIRE(old.count(stored.sequence) == 1);
      const auto& was = old[stored.sequence];
      const auto& is = stored.entry;
      ++read;
      CHECK(is.at_utc_us == was.entry.at_utc_us);
      CHECK(is.serial == was.entry.serial);
      CHECK(is.kind == was.entry.kind);
      CHECK(is.event == was.entry.event);
      CHECK(is.actor == was.entry.actor);
      CHECK(is.body_json == was.entry.body_json);
      CHECK(is.state_json == was.entry.state_json);
      CHECK(is.stage == was.entry.stage);
      CHECK(static_cast<std::int64_t>(is.trace.size()) == was.samples);
      if (!was.trace.empty()) CHECK(is.trace == good(record::decode_trace(was.trace)));
      samples += is.trace.size();
    }
  CHECK(read == old.size());
  CHECK(samples > 5000);
  for (const auto& [serial, state] : states) CHECK(good(store->fitting(serial)).state_json == state);
}

TEST_CASE(
    "a migration killed or robbed of its power at any operation leaves the old version or the new one") {
  const auto newest = static_cast<int>(record::schema_steps().size());
  for (const auto& packed : old_records()) {
    const auto bytes = unpacked(packed);
    ScratchFolder original;
    write_record(original, bytes);
    const auto before = evidence_in(original.file());
    std::uint64_t left_old = 0, left_new = 0, operation = 1;
    for (bool whole = false; !whole; ++operation) {
      INFO(packed.filename() << ", operation " << operation);
      const ScratchFolder folder;
      SimulatedDisk disk(folder.data(), operation);
      disk.put(folder.file(), bytes);
      disk.cut_power_at(operation);
      {
        const auto opening = SqliteStore::open(folder.data());
        REQUIRE((opening.ok() || !disk.has_power()));
      }
      whole = disk.has_power();
      if (operation % 2 == 0)
        disk.lose_power();
      else
        disk.start_process();
      const auto after = evidence_in(folder.file());
      REQUIRE((after.version == before.version || after.version == newest));
      ++(after.version == newest ? left_new : left_old);
      check_same_evidence(before, after);
      const auto store = good(SqliteStore::open(folder.data()));
      REQUIRE_FALSE(good(store->check_chain()).broken);
      if (operation % 16 == 0) check_same_evidence(before, evidence_in(folder.file()));
    }
    CHECK(left_old > 20);
    CHECK(left_new > 0);
    std::cout << packed.filename().string() << ": migration cut at each of " << operation - 1 << " operations, "
              << left_old << " left the old version and " << left_new << " the new one\n";
  }
}
