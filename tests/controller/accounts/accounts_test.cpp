#include <atomic>
#include <fstream>
#include <thread>

#include "scratch_accounts.hpp"

// The service as station, page and console use it; what HTTP makes of it is in tests/hmi/accounts_test.cpp.
using namespace shankwright;
using namespace shankwright::tests;

namespace {
constexpr std::int64_t second_ms = 1000, hour_ms = 3'600'000;

people::Person registered(const std::string& id, const std::string& name) {
  people::Person person;
  person.id = id;
  person.name = name;
  person.operator_role = true;
  person.qualified_until_day = {{"hexagon", 22'000}};
  return person;
}
}  // namespace

TEST_CASE("the shop's register enrols whom the record does not know, and changes nobody") {
  ScratchAccounts scratch;
  std::map<std::string, people::Person> shop = {{"ada", registered("ada", "Ada")},
                                                {"bo", registered("bo", "Bo")}};
  shop["ada"].administrator_role = true;  // a file gives nobody that
  const auto first = scratch.accounts->enrol(shop);
  REQUIRE(first);
  CHECK(first.value().added == 2);
  CHECK(first.value().notices.empty());
  CHECK_FALSE(scratch.accounts->person("ada")->administrator_role);
  CHECK(scratch.accounts->person("ada")->qualified_until_day.at("hexagon") == 22'000);
  CHECK(scratch.store.kept.front().entry.actor == "shop register");

  scratch.start();
  shop["bo"].technician_role = true;
  shop["station"] = registered("station", "Not a person");
  REQUIRE(scratch.accounts->remove("ada", "test"));
  const auto again = scratch.accounts->enrol(shop);
  REQUIRE(again);
  CHECK(again.value().added == 0);
  CHECK(again.value().notices.size() == 3);  // ada was removed, bo differs, "station" is nobody's
  CHECK_FALSE(scratch.accounts->person("ada"));
  CHECK_FALSE(scratch.accounts->person("bo")->technician_role);
  CHECK(scratch.accounts->all().size() == 1);
}

TEST_CASE("the first administrator comes by a code that ends with the process, or once used") {
  ScratchAccounts scratch;
  CHECK_FALSE(scratch.accounts->has_administrator());
  const auto lost = scratch.accounts->new_administrator_code("console").value().code;
  CHECK_FALSE(
      std::filesystem::exists(accounts::credentials_file(scratch.folder)));  // its hash is in memory alone
  scratch.start();
  CHECK_FALSE(scratch.accounts->sign_in_by_code("administrator", lost, "").right());

  const auto first = scratch.accounts->new_administrator_code("console").value().code;
  const auto code = scratch.accounts->new_administrator_code("console").value().code;
  CHECK_FALSE(scratch.accounts->sign_in_by_code("administrator", first, "").right());  // the newest counts
  REQUIRE(scratch.accounts->sign_in_by_code("administrator", code, "").right());
  CHECK_FALSE(scratch.accounts->has_administrator());
  REQUIRE(scratch.accounts->set_pin_by_code(
      "administrator", scratch.accounts->standing("administrator")->code_digest, "4711"));
  CHECK(scratch.accounts->has_administrator());
  CHECK_FALSE(scratch.accounts->sign_in_by_code("administrator", code, "").right());
  scratch.start();
  CHECK(scratch.right("administrator", "4711"));
  for (const auto& stored : scratch.store.kept)
    CHECK(stored.entry.body_json.find(code) == std::string::npos);  // nor any code on record
}

TEST_CASE("a lost administrator is given the role and a code again, on record") {
  ScratchAccounts scratch;
  REQUIRE(scratch.accounts->new_administrator_code("console"));
  scratch.with_pin("bo", "4711", true);
  REQUIRE(scratch.accounts->remove("administrator", "bo"));
  const auto code = scratch.accounts->new_administrator_code("console");
  REQUIRE(code);
  CHECK(scratch.accounts->person("administrator")->administrator_role);
  REQUIRE(scratch.accounts->change_roles("administrator", {"planner"}, "bo"));
  REQUIRE(scratch.accounts->new_administrator_code("console"));
  CHECK(scratch.accounts->person("administrator")->administrator_role);
  CHECK(scratch.accounts->person("administrator")->planner_role);
  CHECK(scratch.store.kept.back().entry.actor == "console");
}

TEST_CASE("a code is good for a day") {
  ScratchAccounts scratch;
  scratch.add("ada");
  const auto code = scratch.accounts->issue_code("ada", "test").value().code;
  scratch.clock.pass_ms(24 * hour_ms);
  CHECK(scratch.accounts->sign_in_by_code("ada", code, "").right());
  const auto digest = scratch.accounts->standing("ada")->code_digest;
  scratch.clock.pass_ms(1);
  CHECK_FALSE(scratch.accounts->sign_in_by_code("ada", code, "").right());
  CHECK_FALSE(scratch.accounts->set_pin_by_code("ada", digest, "4711"));
}

TEST_CASE("a lock-out is on record once, and outlives a restart") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  for (int i = 0; i < 5; ++i) CHECK_FALSE(scratch.right("ada", "0000"));
  CHECK(scratch.entries("locked_out") == 1);
  for (int i = 0; i < 20; ++i)
    CHECK(scratch.accounts->sign_in("ada", "4711", "").outcome == accounts::Tried::Outcome::wait);
  CHECK(scratch.entries("locked_out") == 1);

  scratch.clock.pass_ms(10 * second_ms);
  scratch.start();
  const auto waiting = scratch.accounts->sign_in("ada", "4711", "");
  CHECK(waiting.outcome == accounts::Tried::Outcome::wait);
  CHECK(waiting.wait_s == 20);
  scratch.clock.pass_ms(20 * second_ms);
  CHECK(scratch.accounts->sign_in("ada", "0000", "").wait_s == 60);  // and so does the count
  CHECK(scratch.entries("locked_out") == 2);
  scratch.clock.pass_ms(60 * second_ms);
  CHECK(scratch.right("ada", "4711"));
  CHECK(scratch.entries("unlocked") == 1);
  scratch.start();
  CHECK(scratch.accounts->sign_in("ada", "0000", "").tries_left == 4);
}

TEST_CASE("where a lock-out cannot be recorded it holds all the same") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  scratch.store.broken = true;
  for (int i = 0; i < 5; ++i) CHECK_FALSE(scratch.right("ada", "0000"));
  CHECK(scratch.accounts->sign_in("ada", "4711", "").outcome == accounts::Tried::Outcome::wait);
}

TEST_CASE("tries from many threads at once are no more than the rule allows") {
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  std::atomic<int> looked_at{0};
  std::vector<std::thread> threads;
  for (int i = 0; i < 8; ++i)
    threads.emplace_back([&] {
      for (int k = 0; k < 10; ++k)
        if (scratch.accounts->sign_in("ada", "0000", "").outcome == accounts::Tried::Outcome::wrong)
          ++looked_at;
    });
  for (auto& thread : threads) thread.join();
  CHECK(looked_at == 5);
}

TEST_CASE("the same work is done for people who are not there") {
  // The count of hashes, not their time: both ways through attempt() compare once. At the program's own cost
  // one comparison takes most of the answer's time, so this is also what makes answers equally slow.
  ScratchAccounts scratch;
  scratch.with_pin("ada", "4711");
  scratch.add("bo");
  for (int i = 0; i < 7; ++i) {
    const auto known = scratch.accounts->sign_in("ada", "0000", ""),
               unknown = scratch.accounts->sign_in("nobody", "0000", ""),
               without = scratch.accounts->sign_in("bo", "0000", "");
    CHECK(known.outcome == unknown.outcome);
    CHECK(known.outcome == without.outcome);
    CHECK(known.tries_left == unknown.tries_left);
    CHECK(known.wait_s == unknown.wait_s);
    CHECK(known.wait_s == without.wait_s);
  }
  CHECK(scratch.entries("locked_out") == 2);  // of people there are; the others are not put on record
}

TEST_CASE("an entry that contradicts the others stops the start") {
  ScratchAccounts scratch;
  scratch.add("ada");
  ports::NewEntry forged;
  forged.kind = "account";
  forged.event = "roles_changed";
  forged.actor = "ada";
  forged.body_json = R"({"person":"ada","before":["reviewer"],"after":["administrator"]})";
  REQUIRE(scratch.store.append({forged}));
  CHECK_THROWS(scratch.start());
}
