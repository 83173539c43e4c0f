#include "record/chain.hpp"

#include <functional>
#include <set>

#include "record/bytes.hpp"
#include "record/serial.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::ChainReport;
using record::SqliteStore;

namespace {

// Somebody with the file and a database tool: triggers and foreign keys do not stop them.
void tamper(const ScratchFolder& folder, const std::string& sql) {
  SQLite::Database database(folder.file().string(), SQLite::OPEN_READWRITE);
  SQLite::Statement triggers(database, "SELECT name FROM sqlite_master WHERE type = 'trigger'");
  std::vector<std::string> names;
  while (triggers.executeStep()) names.push_back(triggers.getColumn(0).getString());
  triggers.reset();
  for (const auto& name : names) database.exec("DROP TRIGGER " + name);
  database.exec("PRAGMA ignore_check_constraints=ON");
  database.exec(sql);
  REQUIRE(database.getTotalChanges() > 0);
}

// Six entries: 1 reserved, 2 opened, 3 a bite with a trace, 4 and 5 more, 6 the station's own.
void fill(const ScratchFolder& folder) {
  const auto store = opened(folder);
  const auto serial = begin_fitting(*store);
  auto bite = entry_of(serial, "bite_finished", 2000);
  for (std::uint32_t index = 0; index < 50; ++index)
    bite.trace.push_back({index * 2, index * 3.0, 2.0 - index * 0.04});
  good(store->append({bite}));
  good(store->append({entry_of(serial, "position", 3000), entry_of(serial, "growth", 3000)}));
  good(store->append({entry_of("", "started", 4000)}));
}

}  // namespace

TEST_CASE("the hash function is BLAKE2b with 256 bits") {
  // b2sum -l 256 (GNU coreutils 9.1) of nothing and of "abc", as RFC 7693 defines it.
  CHECK(record::hex(record::hash_of("")) ==
        "0e5751c026e543b2e8ab2eb06099daa1d1e5df47778f7787faab45cdf12fe3a8");
  CHECK(record::hex(record::hash_of("abc")) ==
        "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319");
}

TEST_CASE("the hash of an entry follows the written encoding byte by byte") {
  // The bytes are put together here by hand from the description in chain.hpp.
  const auto number = [](std::uint64_t value) {
    std::string out;
    for (int byte = 0; byte < 8; ++byte) out += static_cast<char>(value >> (8 * byte) & 0xff);
    return out;
  };
  std::string bytes =
      number(19) + "shankwright entry 1" + std::string(32, '\x05') + number(7) + number(~0ULL);
  for (const std::string text : {"SW-1", "evidence", "growth", "op", "{}", "{ }", "gauge", "[]", ""})
    bytes += number(text.size()) + text;
  record::Hash previous;
  previous.fill(5);
  const record::HashedFields fields{7,    -1,    "SW-1",  "evidence", "growth", "op",
                                    "{}", "{ }", "gauge", "[]",       ""};
  CHECK(record::entry_hash(previous, fields) == record::hash_of(bytes));
}

TEST_CASE("moving a character from one field to the next changes the hash") {
  const record::Hash previous{};
  std::set<record::Hash> hashes;
  const std::string text = "abc";
  for (std::size_t cut = 0; cut <= text.size(); ++cut) {
    record::HashedFields fields;
    fields.serial = std::string_view(text).substr(0, cut);
    fields.kind = std::string_view(text).substr(cut);
    hashes.insert(record::entry_hash(previous, fields));
  }
  CHECK(hashes.size() == 4);
}

TEST_CASE("the record refuses to change, delete or replace what was written") {
  ScratchFolder folder;
  fill(folder);
  SQLite::Database database(folder.file().string(), SQLite::OPEN_READWRITE);
  const auto before = record::check_chain(database, 1);
  for (const std::string sql :
       {"UPDATE entries SET actor = 'x' WHERE sequence = 4",
        "UPDATE OR REPLACE entries SET sequence = 5 WHERE sequence = 4", "DELETE FROM entries",
        "DELETE FROM entries WHERE sequence = 6",
        "INSERT OR REPLACE INTO entries SELECT 4, at_utc_us, serial, kind, event, 'x', body_json, "
        "state_json, stage,"
        " opening_json, trace_hash, previous_hash, hash FROM entries WHERE sequence = 4",
        "INSERT INTO entries SELECT 99, at_utc_us, serial, kind, event, actor, body_json, state_json, stage,"
        " opening_json, trace_hash, previous_hash, hash FROM entries WHERE sequence = 4",
        "UPDATE traces SET bytes = x'00'", "DELETE FROM traces",
        "INSERT OR REPLACE INTO traces VALUES (3, 0, x'00')", "UPDATE documents SET content = ''",
        "DELETE FROM documents", "INSERT OR REPLACE INTO documents SELECT hash, '' FROM documents"}) {
    INFO(sql);
    CHECK_THROWS_AS(database.exec(sql), SQLite::Exception);
  }
  const auto after = record::check_chain(database, 1);
  CHECK_FALSE(after.broken);
  CHECK(after.checked == 6);
  CHECK(after.newest_hash == before.newest_hash);
}

TEST_CASE("a change to any field of any entry breaks the chain at that entry") {
  const std::vector<std::string> changes{"at_utc_us = at_utc_us + 1",
                                         "serial = serial || ' '",
                                         "kind = 'finding'",
                                         "event = event || 'x'",
                                         "actor = 'op-2'",
                                         "body_json = body_json || ' '",
                                         "state_json = state_json || ' '",
                                         "stage = stage || 'x'",
                                         "opening_json = opening_json || ' '",
                                         "trace_hash = zeroblob(32)",
                                         "previous_hash = zeroblob(31) || x'01'",
                                         "hash = zeroblob(32)"};
  for (int sequence = 1; sequence <= 6; ++sequence)
    for (const auto& change : changes) {
      ScratchFolder folder;
      fill(folder);
      INFO(change << " of entry " << sequence);
      const auto of_this = " WHERE sequence = " + std::to_string(sequence);
      tamper(folder, "UPDATE entries SET " + (change.starts_with("previous_hash")
                                                  ? "previous_hash = randomblob(32)" + of_this
                                                  : change + of_this));
      const auto report = good(good(SqliteStore::open_to_read(folder.data()))->check_chain());
      REQUIRE(report.broken);
      CHECK(report.broken->sequence == sequence);
      CHECK(report.checked == sequence - 1);
    }
}

TEST_CASE("what is taken out, put in or exchanged breaks the chain") {
  const auto [sql, where, what] = GENERATE(table<std::string, int, std::string>({
      {"DELETE FROM entries WHERE sequence = 4", 5, "an entry is missing before it"},
      {"DELETE FROM entries WHERE sequence = 1", 2, "an entry is missing before it"},
      {"UPDATE entries SET sequence = 100 WHERE sequence = 5", 6, "an entry is missing before it"},
      {"UPDATE entries SET sequence = -sequence WHERE sequence IN (4, 5);"
       "UPDATE entries SET sequence = 9 + sequence WHERE sequence < 0",
       4, "it does not follow on the entry before it"},
      {"DELETE FROM traces", 3, "its trace is missing"},
      {"UPDATE traces SET bytes = zeroblob(length(bytes))", 3, "its trace does not match its hash"},
      {"INSERT INTO traces VALUES (4, 1, x'00')", 4, "it has a trace that was not there when it was written"},
      {"INSERT INTO traces VALUES (40, 1, x'00')", 40, "a trace stands there without its entry"},
      {"UPDATE documents SET content = content || ' '", 2, "its recipe document has been altered"},
      {"DELETE FROM documents", 2, ""},
  }));
  ScratchFolder folder;
  fill(folder);
  INFO(sql);
  tamper(folder, sql);
  const auto report = good(good(SqliteStore::open_to_read(folder.data()))->check_chain());
  REQUIRE(report.broken);
  CHECK(report.broken->sequence == where);
  if (!what.empty()) CHECK(report.broken->what == what);
}

TEST_CASE("an altered trace is not shown as evidence") {
  const auto* sql = GENERATE("UPDATE traces SET bytes = zeroblob(length(bytes))", "DELETE FROM traces",
                             "INSERT INTO traces VALUES (4, 0, x'0100000000')");
  ScratchFolder folder;
  fill(folder);
  tamper(folder, sql);
  const auto reader = good(SqliteStore::open_to_read(folder.data()));
  const auto serial = good(reader->serials()).at(0);
  const auto refused = reader->entries(serial, true);
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found == "a trace that does not match its hash");
  CHECK(good(reader->entries(serial, false)).size() == 4);
}

TEST_CASE("the station does not start on a record whose newest entries were altered") {
  ScratchFolder folder;
  fill(folder);
  tamper(folder, "UPDATE entries SET actor = 'somebody else' WHERE sequence = 4");
  const auto refused = SqliteStore::open(folder.data());
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found == "a broken chain at entry 4: its content does not match its hash");
  // Outside the tail that is looked at, the full check finds it and the start does not.
  const auto store = opened(folder, {.tail_entries = 2});
  CHECK(good(store->check_chain()).broken->sequence == 4);
  CHECK_FALSE(good(store->check_chain(5)).broken);
}

TEST_CASE("an empty record and a part of a record are whole chains") {
  ScratchFolder folder;
  {
    const auto store = opened(folder);
    const auto report = good(store->check_chain());
    CHECK_FALSE(report.broken);
    CHECK(report.newest == 0);
  }
  fill(folder);
  const auto store = opened(folder);
  CHECK(good(store->check_chain(1)).newest_hash == good(store->check_chain(6)).newest_hash);
  CHECK(good(store->check_chain(7)).newest_hash == good(store->check_chain(1)).newest_hash);
  CHECK(good(store->check_chain(7)).newest == 6);
  CHECK(good(store->check_chain(9)).broken);
}
