#include "record/verify.hpp"

#include <sys/stat.h>

#include <fstream>

#include "record/archive.hpp"
#include "record/heads_file.hpp"
#include "record/key_folder.hpp"
#include "record/serial.hpp"
#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record_test;
using record::SqliteStore;
using record::VerifyWish;

namespace {

ports::NewEntry bite_of(const std::string& serial, std::int64_t at_utc_us, double pressure_bar) {
  auto bite = entry_of(serial, "bite_finished", at_utc_us, "biting");
  for (std::uint32_t index = 0; index < 50; ++index)
    bite.trace.push_back({index * 2, pressure_bar + index, 2.0 - index * 0.04});
  return bite;
}

// Each fitting: admitted, a bite with a trace, released under a seal.
std::vector<std::string> press(SqliteStore& store, int fittings, std::int64_t from_utc_us = 1000) {
  std::vector<std::string> out;
  for (int index = 0; index < fittings; ++index) {
    const auto at = from_utc_us + index * 100;
    out.push_back(begin_fitting(store, at));
    good(store.append({bite_of(out.back(), at + 1, 10.0 * index)}));
    good(store.append_and_seal({entry_of(out.back(), "release", at + 2, "released")}, "release"));
  }
  return out;
}

record::VerifyReport verified(const ScratchFolder& folder, VerifyWish wish = {}) {
  if (wish.record.empty()) wish.record = folder.data();
  return good(record::verify(wish));
}

// Somebody with the file, a database tool and the program's own source: triggers are put back as they were.
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

std::string told(const record::VerifyReport& report) {
  std::string out;
  for (const auto& finding : report.findings) out += finding.what + "\n";
  return out;
}

record::PublicKey key_of(const ScratchFolder& folder) {
  const auto store = good(SqliteStore::open_to_read(folder.data()));
  return good(record::read_key_change(good(store->entries_of_kind("seal_key", 0)).at(0).entry)).key;
}

}  // namespace

TEST_CASE("a record as it was written is sound, also as a copied file with the public key alone") {
  ScratchFolder folder;
  press(*opened(folder), 5);
  auto report = verified(folder);
  INFO(told(report));
  REQUIRE(report.sound());
  CHECK(report.fittings == 5);
  CHECK(report.traces == 5);
  CHECK(report.seals == 5);
  CHECK(report.newest == report.entries);
  CHECK(report.newest_seal->sequence == report.newest - 1);
  REQUIRE(report.notes.size() == 1);  // nobody gave a key from elsewhere

  ScratchFolder elsewhere;
  std::filesystem::create_directories(elsewhere.data());
  std::filesystem::copy_file(folder.file(), elsewhere.data() / "copy.sqlite3");
  report = verified(elsewhere, {elsewhere.data() / "copy.sqlite3", key_of(folder), {}, {}});
  INFO(told(report));
  CHECK(report.sound());
  CHECK(report.notes.empty());
}

TEST_CASE("an altered entry is named in words, with what is still as it was written") {
  ScratchFolder folder;
  const auto serials = press(*opened(folder), 5);
  tamper(
      folder,
      "UPDATE entries SET body_json = replace(body_json, '{', '{ ') WHERE event = 'release' AND serial = '" +
          serials[2] + "'");
  const auto report = verified(folder);
  REQUIRE(report.findings.size() == 1);
  const auto& what = report.findings[0].what;
  INFO(what);
  CHECK(what.find("release of " + serials[2]) != std::string::npos);
  CHECK(what.find("does not match its hash") != std::string::npos);
  CHECK(what.find("Everything before it is as it was written") != std::string::npos);
}

TEST_CASE("what a tool can do to the record beside the entries is found too") {
  ScratchFolder folder;
  const auto serials = press(*opened(folder), 3);
  const auto has = [&](const char* words) {
    const auto report = verified(folder);
    INFO(told(report));
    CHECK_FALSE(report.sound());
    CHECK(told(report).find(words) != std::string::npos);
  };
  SECTION("a guarding trigger taken out") {
    SQLite::Database(folder.file().string(), SQLite::OPEN_READWRITE).exec("DROP TRIGGER entries_stay");
    has("trigger entries_stay is missing");
  }
  SECTION("the search telling another verdict than the entries") {
    SQLite::Database(folder.file().string(), SQLite::OPEN_READWRITE)
        .exec("UPDATE fitting_index SET verdict = 'accepted', operator_id = 'somebody' WHERE number = 2");
    has("The index does not say what the entries say");
  }
  SECTION("a word taken out of the search") {
    SQLite::Database(folder.file().string(), SQLite::OPEN_READWRITE)
        .exec("INSERT INTO texts (texts, rowid, words) VALUES ('delete', 2 << 20, 'job-7')");
    has("The index does not say what the entries say");
  }
  SECTION("the number of a trace's samples") {
    tamper(folder, "UPDATE traces SET samples = samples - 1");
    has("another number of samples");
  }
  SECTION("two fittings' traces exchanged") {
    tamper(folder,
           "CREATE TEMP TABLE t AS SELECT sequence, bytes FROM traces ORDER BY sequence LIMIT 2;"
           "UPDATE traces SET bytes = (SELECT t.bytes FROM temp.t AS t WHERE t.sequence <> traces.sequence)"
           " WHERE sequence IN (SELECT sequence FROM temp.t)");
    has("its trace does not match its hash");
  }
  SECTION("the recipe") {
    tamper(folder, "UPDATE documents SET content = content || ' '");
    has("recipe document has been altered");
  }
}

TEST_CASE("a cut-off end and an older copy are told by what was kept elsewhere") {
  ScratchFolder folder, older;
  const auto heads = folder.data().parent_path() / "heads.txt";
  std::string code;
  {
    record::StoreOptions options;
    options.heads_file = heads;
    const auto store = opened(folder, options);
    press(*store, 3);
    std::filesystem::create_directories(older.data());
    SQLite::Database(folder.file().string()).exec("VACUUM INTO '" + older.file().string() + "'");
    const auto last = press(*store, 1, 9000).back();
    code = record::short_code(good(store->seal_over(last)));
    CHECK_FALSE(store->heads_trouble());
  }
  CHECK(verified(folder, {{}, key_of(folder), {code}, heads}).sound());
  CHECK(verified(folder, {{}, key_of(folder), {code}, heads}).heads_fit == 4);

  // By itself the older copy is sound: only what lies elsewhere can tell.
  CHECK(verified(older, {{}, key_of(folder), {}, {}}).sound());
  auto report = verified(older, {{}, key_of(folder), {code}, {}});
  CHECK(told(report).find("its end was cut off, or this is an older copy") != std::string::npos);
  report = verified(older, {{}, key_of(folder), {}, heads});
  CHECK(told(report).find("its end was cut off, or this is an older copy") != std::string::npos);
  // And a station that keeps the second place does not go on with it.
  record::StoreOptions options;
  options.heads_file = heads;
  const auto refused = SqliteStore::open(older.data(), options);
  REQUIRE_FALSE(refused.ok());
  CHECK(refused.problem().found.find("holds a seal over entry") != std::string::npos);

  tamper(folder,
         "DELETE FROM entries WHERE sequence > 12; DELETE FROM traces WHERE sequence > 12;"
         "DELETE FROM fitting_index WHERE last_sequence > 12; DELETE FROM serials WHERE sequence > 12");
  CHECK(told(verified(folder, {{}, key_of(folder), {}, heads})).find("its end was cut off") !=
        std::string::npos);
}

TEST_CASE("a record written anew with another key is told by the public key, and by old codes") {
  ScratchFolder folder, forged;
  std::string code;
  {
    const auto store = opened(folder);
    code = record::full_code(good(store->seal_over(press(*store, 2).front())));
  }
  press(*opened(forged), 2);
  CHECK(verified(forged).sound());
  CHECK(told(verified(forged, {{}, key_of(folder), {}, {}})).find("has never sealed this record") !=
        std::string::npos);
  CHECK(told(verified(forged, {{}, {}, {code}, {}})).find("is not the one that was sealed") !=
        std::string::npos);
}

TEST_CASE("an old public key vouches across a change of key, and not across a lost one") {
  ScratchFolder folder;
  const auto store = opened(folder);
  press(*store, 1);
  const auto first = key_of(folder);
  const auto second = good(store->rotate_key("dan", "yearly", 5000, false));
  press(*store, 1, 6000);
  CHECK(verified(folder, {{}, first, {}, {}}).sound());
  CHECK(verified(folder, {{}, second, {}, {}}).sound());
  const auto third = good(store->rotate_key("dan", "the disk with the key broke", 7000, true));
  press(*store, 1, 8000);
  const auto report = verified(folder, {{}, first, {}, {}});
  CHECK(told(report).find("without the old one") != std::string::npos);
  CHECK_FALSE(verified(folder, {{}, second, {}, {}}).sound());
  CHECK(verified(folder, {{}, third, {}, {}}).sound());
}

TEST_CASE("the second place is caught up with after it was away, and a torn line is written again") {
  ScratchFolder folder;
  const auto place = folder.data().parent_path() / "stick";
  record::StoreOptions options;
  options.heads_file = place / "heads.txt";
  const auto store = opened(folder, options);
  press(*store, 2);
  REQUIRE(store->heads_trouble());
  std::filesystem::create_directories(place);
  press(*store, 1, 5000);
  CHECK_FALSE(store->heads_trouble());
  CHECK(good(record::read_heads_file(options.heads_file)).size() == 3);
  std::filesystem::resize_file(options.heads_file, std::filesystem::file_size(options.heads_file) - 40);
  auto opened_again = good(record::HeadsFile::open(options.heads_file));
  SQLite::Database database(folder.file().string());
  record::PartFiles no_parts;
  CHECK_FALSE(opened_again.catch_up(database, no_parts));
  CHECK(good(record::read_heads_file(options.heads_file)).size() == 3);
  CHECK(verified(folder, {{}, {}, {}, options.heads_file}).heads_fit == 3);
}

TEST_CASE("the seal over a closed period reaches the second place at the next start") {
  ScratchFolder folder;
  record::StoreOptions options;
  options.heads_file = folder.data().parent_path() / "heads.txt";
  press(*opened(folder, options), 2);
  const auto closed = good(record::close_period(folder.data(), "dan", 4000));
  CHECK(good(record::read_heads_file(options.heads_file)).size() == 2);
  CHECK_FALSE(opened(folder, options)->heads_trouble());
  const auto kept = good(record::read_heads_file(options.heads_file));
  REQUIRE(kept.size() == 3);
  CHECK(good(record::read_code(kept.back().code)).sequence == closed.last_sequence - 1);
  CHECK(verified(folder, {{}, {}, {}, options.heads_file}).heads_fit == 3);
}

TEST_CASE("a verification looks at the record as it was when it began, and can be broken off") {
  ScratchFolder folder;
  const auto store = opened(folder);
  press(*store, 3);
  const auto before = good(store->check_chain()).newest;
  std::vector<record::VerifyProgress> told_of;
  record::VerifyWish wish;
  wish.record = folder.data();
  SECTION("a station that presses meanwhile does not make it unsound") {
    wish.watch = [&](const record::VerifyProgress& now) {
      if (told_of.empty() || told_of.back().part != now.part) press(*store, 1, 9000 + 100 * now.done);
      told_of.push_back(now);
      return true;
    };
    const auto report = good(record::verify(wish));
    INFO(told(report));
    CHECK(report.sound());
    CHECK(report.newest == before);
    CHECK(good(store->check_chain()).newest > before);
    std::vector<record::VerifyPart> parts;
    for (const auto& now : told_of) {
      if (parts.empty() || parts.back() != now.part) parts.push_back(now.part);
      CHECK(now.of == before);
      CHECK(now.done <= now.of);
    }
    using P = record::VerifyPart;
    CHECK(parts == std::vector<P>{P::pages, P::hashes, P::index_made, P::index_looked});
  }
  SECTION("broken off in any part it says so and finds nothing") {
    const auto last = GENERATE(record::VerifyPart::pages, record::VerifyPart::hashes,
                               record::VerifyPart::index_made, record::VerifyPart::index_looked);
    press(*store, 300, 9000);  // enough work for SQLite to ask in every part
    wish.watch = [&](const record::VerifyProgress& now) { return now.part != last; };
    const auto report = record::verify(wish);
    REQUIRE_FALSE(report.ok());
    CHECK(report.problem().place == "watch");
  }
}

TEST_CASE("a closed period is a file of its own; search, evidence and serials go on") {
  ScratchFolder folder;
  std::vector<std::string> serials;
  std::string held, code;
  {
    const auto store = opened(folder);
    serials = press(*store, 4);
    held = begin_fitting(*store, 3000);
    good(store->append({bite_of(held, 3001, 5), entry_of(held, "bite_finished", 3002, "hold", 1)}));
    code = record::short_code(good(store->seal_over(serials[0])));
  }
  const auto closed = good(record::close_period(folder.data(), "dan", 4000));
  CHECK(closed.first_sequence == 1);
  struct ::stat found {};
  REQUIRE(::stat(closed.file.c_str(), &found) == 0);
  CHECK((found.st_mode & 0777) == 0400);
  const auto second = [&] {
    const auto store = opened(folder);
    CHECK(good(store->check_chain()).checked == 1);  // the entry that follows on the closed file
    // The held fitting is disposed of in the new file; its evidence is read from both.
    good(store->append_and_seal({entry_of(held, "dispose", 5000, "scrapped", 1)}, "release"));
    CHECK(good(store->entries(held, true)).size() == 4);
    CHECK(good(store->entries(held, true)).at(1).entry.trace.size() == 50);
    CHECK(good(store->entries(held, false)).back().entry.state_json ==
          R"({"re_presses":1,"stage":"scrapped"})");
    CHECK(good(store->entries(serials[1], true)).size() == 3);
    CHECK(good(store->fitting(serials[1])).stage == "released");
    CHECK(good(store->seal_over(serials[1])).why == "release");
    CHECK(good(store->entries_of_kind("seal", 0)).size() == 6);
    auto more = press(*store, 2, 6000);
    CHECK(record::number_of(more[0]) == *record::number_of(held) + 1);
    CHECK(good(store->serials()).size() == 7);
    CHECK(good(store->rebuild_index()) > 20);
    return more;
  }();
  const auto again = good(record::close_period(folder.data(), "dan", 7000));
  CHECK(again.first_sequence == closed.last_sequence + 1);
  {
    const auto store = opened(folder);
    CHECK(good(store->entries(second[0], true)).size() == 3);
    CHECK(good(store->entries(held, true)).size() == 4);
  }
  auto report = verified(folder, {{}, key_of(folder), {code}, {}});
  INFO(told(report));
  CHECK(report.sound());
  CHECK(report.files.size() == 3);
  CHECK(report.fittings == 7);
  CHECK(report.codes_fit == 1);

  SECTION("a closed file verifies and reads by itself") {
    report = verified(folder, {closed.file, key_of(folder), {code}, {}});
    INFO(told(report));
    CHECK(report.sound());
    CHECK(good(good(SqliteStore::open_to_read(closed.file))->entries(serials[0], true)).size() == 3);
  }
  SECTION("a later one without the earlier says so") {
    ScratchFolder elsewhere;
    std::filesystem::create_directories(elsewhere.data());
    std::filesystem::copy_file(again.file, elsewhere.data() / "one.sqlite3");
    report = verified(elsewhere, {elsewhere.data() / "one.sqlite3", key_of(folder), {}, {}});
    INFO(told(report));
    CHECK(report.sound());
    REQUIRE_FALSE(report.notes.empty());
    CHECK(report.notes[0].find("were not looked at") != std::string::npos);
  }
  SECTION("a missing or exchanged one is named, not passed over") {
    std::filesystem::rename(closed.file, closed.file.string() + ".away");
    CHECK(told(verified(folder)).find("put the closed file back") != std::string::npos);
    const auto refused = good(SqliteStore::open_to_read(folder.data()))->entries(serials[0], false);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.problem().found.find("put the closed file back") != std::string::npos);
    std::filesystem::copy_file(again.file, closed.file);
    CHECK(told(verified(folder)).find("another one or was altered") != std::string::npos);
  }
}

TEST_CASE("a process killed while a period is closed leaves the old record or the new one") {
  // What close_period does on the disk, one step after the other, and the record after each.
  ScratchFolder folder;
  press(*opened(folder), 2);
  const auto archive = folder.data() / "archive";
  SECTION("after the next file was begun") {
    std::ofstream(folder.data() / "record.next.sqlite3") << "half a file";
  }
  SECTION("after the record got its second name") {
    std::filesystem::create_directories(archive);
    std::filesystem::create_hard_link(folder.file(), archive / "record-000000001-000000007.sqlite3");
  }
  press(*opened(folder), 1, 5000);
  CHECK(verified(folder).sound());
  good(record::close_period(folder.data(), "dan", 6000));
  press(*opened(folder), 1, 7000);
  const auto report = verified(folder);
  INFO(told(report));
  CHECK(report.sound());
  CHECK(report.fittings == 4);
  CHECK(std::distance(std::filesystem::directory_iterator(archive), {}) == 1);
}
