#include "inspection/inspection.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <chrono>
#include <thread>

#include "tests/controller/record/scratch_record.hpp"

// Goal: a reviewer is told at once whether one dossier is what the station wrote, and later about the whole
// record, beside the work. Method: records on the disk, altered by somebody who has the file and a database
// tool.
using namespace shankwright;
using namespace shankwright::record_test;
using inspection::Inspection;

namespace {

struct Clock final : ports::Clock {
  [[nodiscard]] std::int64_t utc_us() const override { return 1'935'500'000'000'000; }
  [[nodiscard]] std::int64_t monotonic_us() const override { return 0; }
};

/// Alters a file although triggers forbid it.
void tamper(const ScratchFolder& folder, const std::string& sql) {
  SQLite::Database database(folder.file().string(), SQLite::OPEN_READWRITE);
  std::vector<std::pair<std::string, std::string>> triggers;
  {
    SQLite::Statement rows(database, "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'");
    while (rows.executeStep())
      triggers.emplace_back(rows.getColumn(0).getString(), rows.getColumn(1).getString());
  }
  for (const auto& [name, sql_of] : triggers) database.exec("DROP TRIGGER " + name);
  database.exec(sql);
  REQUIRE(database.getTotalChanges() > 0);
  for (const auto& [name, sql_of] : triggers) database.exec(sql_of);
}

std::string released(record::SqliteStore& store) {
  const auto serial = begin_fitting(store);
  good(store.append({entry_of(serial, "rope_diameter")}));
  good(store.append_and_seal({entry_of(serial, "release", 2000, "released")}, "release"));
  return serial;
}

ports::Verification ended(const Inspection& inspection) {
  for (int tries = 0; tries < 1000; ++tries) {
    const auto now = inspection.verification();
    if (now.state != ports::Verification::State::running) return now;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  FAIL("a verification of a few entries has not ended in ten seconds");
  return {};
}

}  // namespace

TEST_CASE("a released fitting's dossier holds and is sealed; one without a seal holds and says so") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  const auto sealed = released(*store);
  const auto begun = begin_fitting(*store, 3000);
  const Clock clock;
  const Inspection inspection(*store, folder.data(), clock);
  const auto right = good(inspection.prove(sealed));
  CHECK(right.chain_holds);
  CHECK(right.own_entries_hold);
  CHECK(right.sealed);
  CHECK(right.findings.empty());
  REQUIRE(right.seal);
  CHECK(right.seal->sequence >= right.last_sequence);  // the first seal covers the entry of its key, too
  CHECK(right.entries == right.seal->sequence - right.first_sequence + 1);
  const auto open = good(inspection.prove(begun));
  CHECK(open.chain_holds);
  CHECK_FALSE(open.sealed);
  CHECK_FALSE(open.seal);
  CHECK(inspection.prove("SW-000099-XX").problem().place == "serial");
}

TEST_CASE("an altered entry of the fitting, and one between it and its seal, break its proof") {
  for (const char* event : {"rope_diameter", "between"}) {
    INFO(event);
    const ScratchFolder folder;
    std::string serial;
    {
      const auto store = opened(folder);
      serial = begin_fitting(*store);
      good(store->append({entry_of(serial, "rope_diameter")}));
      const auto other = begin_fitting(*store);
      good(store->append({entry_of(other, "between")}));
      good(store->append_and_seal({entry_of(serial, "release", 2000, "released")}, "release"));
    }
    tamper(folder, "UPDATE entries SET actor = 'somebody' WHERE event = '" + std::string(event) + "'");
    record::StoreOptions trusting;
    trusting.tail_entries = 0;
    const auto store = opened(folder, trusting);
    const Clock clock;
    const auto proof = good(Inspection(*store, folder.data(), clock).prove(serial));
    CHECK_FALSE(proof.chain_holds);
    CHECK_FALSE(proof.sealed);
    REQUIRE(proof.findings.size() == 1);
    CHECK(proof.findings[0].what.find("its content does not match its hash") != std::string::npos);
  }
}

TEST_CASE("what came before the fitting is no part of its proof, but of the whole record's") {
  const ScratchFolder folder;
  std::string second;
  {
    const auto store = opened(folder);
    released(*store);
    second = released(*store);
  }
  tamper(folder, "UPDATE entries SET actor = 'somebody' WHERE sequence = 2");
  record::StoreOptions trusting;
  trusting.tail_entries = 0;
  const auto store = opened(folder, trusting);
  const Clock clock;
  Inspection inspection(*store, folder.data(), clock);
  CHECK(good(inspection.prove(second)).sealed);
  CHECK(inspection.verify_whole("rev-1"));
  const auto outcome = ended(inspection);
  CHECK(outcome.state == ports::Verification::State::done);
  CHECK_FALSE(outcome.sound());
  REQUIRE_FALSE(outcome.findings.empty());
  CHECK(outcome.findings[0].sequence == 2);
}

TEST_CASE("the outcome of a verification is on record, with who asked, and is known after a restart") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  released(*store);
  const Clock clock;
  {
    Inspection inspection(*store, folder.data(), clock);
    CHECK(inspection.verification().state == ports::Verification::State::never);
    CHECK(inspection.verify_whole("rev-1"));
    CHECK(ended(inspection).sound());
  }
  const auto kept = good(store->entries_of_kind("verification", 0));
  REQUIRE(kept.size() == 1);
  CHECK(kept[0].entry.actor == "rev-1");
  const Inspection later(*store, folder.data(), clock);
  const auto known = later.verification();
  CHECK(known.sound());
  CHECK(known.asked_by == "rev-1");
  CHECK(known.fittings == 1);
  CHECK(known.entries > 0);
}

TEST_CASE("a station that stops breaks off a verification, of which nothing goes on record") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  for (int fitting = 0; fitting < 400; ++fitting) released(*store);
  const Clock clock;
  {
    Inspection inspection(*store, folder.data(), clock);
    CHECK(inspection.verify_whole("rev-1"));
    CHECK_FALSE(inspection.verification().part.empty());
  }
  const auto kept = good(store->entries_of_kind("verification", 0));
  if (!kept.empty()) CHECK(kept[0].entry.body_json.find(R"("sound":true)") != std::string::npos);
}

TEST_CASE("serials near to a mistyped one are offered") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  const auto serial = released(*store);
  const Clock clock;
  const Inspection inspection(*store, folder.data(), clock);
  auto typed = serial;
  typed[5] = typed[5] == '9' ? '8' : '9';
  CHECK(good(inspection.serials_near(typed, 5)) == std::vector<std::string>{serial});
}
