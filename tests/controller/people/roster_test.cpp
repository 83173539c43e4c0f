#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <random>

#include "people/change.hpp"
#include "people/roles.hpp"
#include "people/roster.hpp"

// Goal: the roster is what its entries say and nothing else. Method: seeded sequences of changes over a few
// people, beside a plain book-keeping of roles and days that knows nothing of the roster; and entries that
// were altered.
using namespace shankwright;
using namespace shankwright::people;

namespace {

Person person(const std::string& id, const std::vector<std::string>& roles = {}) {
  Person out;
  out.id = id;
  out.name = "Demo " + id;
  return with_roles(out, roles).value();
}

/// The plain book: who is there, with which roles, qualified until when.
struct Plain {
  std::vector<std::string> roles;
  std::map<std::string, std::int64_t> qualified;
  bool pin = false;
};

class Story {
 public:
  explicit Story(std::uint64_t seed) : random_(seed) {}

  void step() {
    const std::string id = "p-" + std::to_string(below(4));
    const auto* account = roster.account(id);
    if (account == nullptr) return take(event::person_added, add(id));
    switch (below(8)) {
      case 0:
      case 1: {
        std::vector<std::string> roles;
        for (const auto& role : role_names)
          if (below(2) == 0) roles.emplace_back(role.name);
        const bool lost = std::any_of(book[id].roles.begin(), book[id].roles.end(), [&](const auto& role) {
          return std::find(roles.begin(), roles.end(), role) == roles.end();
        });
        take(event::roles_changed, roles_changed_body(*account, roles));
        book[id].roles = roles;
        if (lost) ended[id] = sequence;
        break;
      }
      case 2: {
        const std::string family = below(2) == 0 ? "hexagon" : "round";
        const auto day = static_cast<std::int64_t>(20'000 + below(4000));
        const bool ends = below(3) == 0;
        take(event::qualification_changed,
             qualification_changed_body(*account, family, ends ? std::nullopt : std::optional(day)));
        if (ends)
          book[id].qualified.erase(family);
        else
          book[id].qualified[family] = day;
        break;
      }
      case 3:
        take(event::code_issued, code_issued_body(*account, "c" + std::to_string(sequence), 1'000'000));
        CHECK(roster.account(id)->code_digest == "c" + std::to_string(sequence - 1));
        break;
      case 4:
        take(event::pin_set, pin_set_body(*account, "d" + std::to_string(sequence), "code"));
        CHECK(roster.account(id)->code_digest.empty());  // used up
        ended[id] = sequence;
        book[id].pin = true;
        break;
      case 5:
        take(event::locked_out, locked_out_body(*account, 6, 123'456, "192.0.2.1"));
        CHECK(roster.account(id)->failures == 6);
        break;
      case 6:
        take(event::unlocked, unlocked_body(*account, "signed in"));
        CHECK(roster.account(id)->failures == 0);
        break;
      default:
        take(event::removed, removed_body(*account));
        book.erase(id);
        ended[id] = sequence;
    }
  }

  void compare() const {
    std::size_t there = 0;
    for (const auto& [id, account] : roster.accounts) {
      if (account.removed) {
        REQUIRE(roster.account(id) == nullptr);
        REQUIRE(account.pin_digest.empty());
        continue;
      }
      ++there;
      REQUIRE(roles_of(account.person) == book.at(id).roles);
      REQUIRE(account.person.qualified_until_day == book.at(id).qualified);
      REQUIRE(account.pin_digest.empty() == !book.at(id).pin);
      REQUIRE(account.sessions_ended_at == (ended.count(id) == 1 ? ended.at(id) : 0));
    }
    REQUIRE(there == book.size());
  }

  Roster roster;
  std::vector<RosterEntry> entries;
  std::map<std::string, Plain> book;
  std::map<std::string, std::int64_t> ended;
  std::int64_t sequence = 0;

  std::size_t below(std::size_t n) { return random_() % n; }

 private:
  std::string add(const std::string& id) {
    book[id] = {{"operator"}, {}, false};
    return person_added_body(person(id, {"operator"}));
  }
  void take(std::string_view event, const std::string& body) {
    entries.push_back({++sequence, std::string(event), body});
    auto next = apply(roster, entries.back());
    INFO(event << ' ' << body);
    if (!next) FAIL(next.problem().text());
    roster = std::move(next).value();
  }
  std::mt19937_64 random_;
};

Result<Roster> replay(const std::vector<RosterEntry>& entries) {
  Result<Roster> roster = Roster{};
  for (const auto& entry : entries) {
    roster = apply(std::move(roster).value(), entry);
    if (!roster) return roster;
  }
  return roster;
}

}  // namespace

TEST_CASE(
    "the roster is what a plain book of the same changes says, and reading the entries again gives the "
    "same") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    INFO("seed " << seed);
    Story story(seed);
    for (int i = 0; i < 120; ++i) {
      story.step();
      story.compare();
    }
    REQUIRE(replay(story.entries).value() == story.roster);
  }
}

TEST_CASE("a change of roles that was left out shows at the next one of the same person") {
  int tried = 0;
  for (std::uint64_t seed = 100; seed < 140; ++seed) {
    INFO("seed " << seed);
    Story story(seed);
    for (int i = 0; i < 120; ++i) story.step();
    const auto body = [&](std::size_t i) { return nlohmann::json::parse(story.entries[i].body_json); };
    const auto of_roles = [&](std::size_t i) { return story.entries[i].event == event::roles_changed; };
    for (std::size_t i = 0; i < story.entries.size(); ++i) {
      if (!of_roles(i) || body(i).at("before") == body(i).at("after")) continue;
      bool another = false;
      for (std::size_t k = i + 1; k < story.entries.size() && !another; ++k)
        another = of_roles(k) && body(k).at("person") == body(i).at("person");
      if (!another) continue;  // the newest of all is the chain's to keep
      auto entries = story.entries;
      entries.erase(entries.begin() + static_cast<std::ptrdiff_t>(i));
      INFO("without entry " << i + 1);
      REQUIRE_FALSE(replay(entries));
      ++tried;
    }
  }
  CHECK(tried > 100);
}

TEST_CASE("a body that cannot be read, or says otherwise than was, stops at its entry") {
  const auto start = apply({}, {1, "person_added", person_added_body(person("ada", {"operator"}))}).value();
  const auto refused = [&](const std::string& event, const std::string& body) {
    const auto next = apply(start, {7, event, body});
    INFO(event << ' ' << body);
    REQUIRE_FALSE(next);
    CHECK(next.problem().place.find("entry 7") != std::string::npos);
  };
  refused("person_added", person_added_body(person("ada")));
  refused("roles_changed", R"({"person":"ada","before":["reviewer"],"after":["administrator"]})");
  refused("roles_changed", R"({"person":"ada","before":["operator"],"after":["king"]})");
  refused("roles_changed", R"({"person":"bo","before":[],"after":["administrator"]})");
  refused("roles_changed", R"({"person":"ada","before":["operator"]})");
  refused("pin_set", R"({"person":"ada","before":"abc","after":"def"})");
  refused("pin_set", R"({"person":"ada","before":null,"after":7})");
  refused("qualification_changed",
          R"({"person":"ada","family":"hexagon","before":null,"after":"2031-02-30"})");
  refused("qualification_changed",
          R"({"person":"ada","family":"hexagon","before":"2031-01-01","after":null})");
  refused("removed",
          R"({"person":"ada","before":{"name":"Demo ada","roles":[],"qualified":{}},"after":null})");
  refused("promoted", R"({"person":"ada"})");
  refused("pin_set", "");
  refused("pin_set", "[]");
  refused("person_added", R"({"person":"Ada","before":null,"after":{"name":"A","roles":[],"qualified":{}}})");
}

TEST_CASE("an id stays with the person who had it first") {
  auto roster = apply({}, {1, "person_added", person_added_body(person("ada", {"operator"}))}).value();
  roster = apply(roster, {2, "removed", removed_body(*roster.account("ada"))}).value();
  CHECK(roster.account("ada") == nullptr);
  Person other = person("ada");
  other.name = "Somebody Else";
  CHECK_FALSE(apply(roster, {3, "person_added", person_added_body(other)}));
  const auto back = apply(roster, {3, "person_added", person_added_body(person("ada"))});
  REQUIRE(back);
  CHECK(back.value().account("ada")->pin_digest.empty());
  CHECK(back.value().account("ada")->sessions_ended_at == 2);  // an old session does not wake again
}
