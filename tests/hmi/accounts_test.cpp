#include <catch2/catch.hpp>
#include <map>
#include <set>

#include "client.hpp"
#include "hmi/server/routes.hpp"

// Goal: only the right person, by their own PIN, in the right role, reaches a route; and whoever loses a
// right loses it at once. Method: by HTTP, over accounts on a record in memory.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

namespace {

/// Signs in by a one-time code that the administrator has just asked for; the token, good for a PIN alone.
std::string sign_in_by_code(const Rig& rig, const std::string& person) {
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  const auto issued = rig.post("/api/v1/people/" + person + "/code", "", admin);
  REQUIRE(issued.status == 200);
  const auto answer =
      rig.post("/api/v1/session", json{{"person", person}, {"code", issued.json().at("code")}}.dump(), "");
  REQUIRE(answer.status == 200);
  CHECK(answer.json().at("must_set_pin") == true);
  return answer.json().at("token").get<std::string>();
}

int status_of_session(const Rig& rig, const std::string& token) {
  return rig.call({.path = "/api/v1/session", .token = token}).status;
}

/// Who may: o operator, t technician, p planner, r reviewer, a administrator, n somebody without a role,
/// c somebody who has signed in by a one-time code, - nobody signed in.
const std::map<std::string, std::string> may = {
    {"POST /api/v1/session", "otpranc-"},
    {"GET /api/v1/session", "otpranc"},
    {"DELETE /api/v1/session", "otpranc"},
    {"POST /api/v1/session/pin", "otpranc"},
    {"POST /api/v1/session/confirm", "otpran"},
    {"GET /api/v1/people", "a"},
    {"POST /api/v1/people", "a"},
    {"POST /api/v1/people/{person}/roles", "a"},
    {"POST /api/v1/people/{person}/qualification", "a"},
    {"POST /api/v1/people/{person}/code", "a"},
    {"POST /api/v1/people/{person}/unlock", "a"},
    {"POST /api/v1/people/{person}/removal", "a"},
    {"GET /api/v1/station", "otpranc-"},
    {"GET /api/v1/events", "otpranc-"},
    {"GET /api/v1/library", "otpranc-"},
    {"POST /api/v1/fittings", "o"},
    {"GET /api/v1/fittings", "otpranc-"},
    {"GET /api/v1/fittings.csv", "otpranc-"},
    {"GET /api/v1/fittings.json", "otpranc-"},
    {"GET /api/v1/fittings/{serial}", "otpranc-"},
    {"GET /api/v1/fittings/{serial}/integrity", "otpranc-"},
    {"GET /api/v1/integrity", "otpranc-"},
    {"POST /api/v1/integrity", "r"},
    {"GET /api/v1/jobs", "otpranc-"},
    {"POST /api/v1/jobs", "p"},
    {"POST /api/v1/jobs/check", "p"},
    {"GET /api/v1/jobs/{job}", "otpranc-"},
    {"POST /api/v1/jobs/{job}", "p"},
    {"POST /api/v1/jobs/{job}/withdrawal", "p"},
    {"GET /api/v1/jobs/{job}/sheet", "otpranc-"},
    {"GET /api/v1/jobs/{job}/table.csv", "otpranc-"},
    {"GET /api/v1/fittings/{serial}/dossier", "otpranc-"},
    {"GET /api/v1/fittings/{serial}/dossier.pdf", "otpranc-"},
    {"GET /api/v1/fittings/{serial}/certificate", "otpranc-"},
    {"GET /api/v1/fittings/{serial}/label.svg", "otpranc-"},
    {"POST /api/v1/fittings/{serial}/corrections", "otpran"},
    {"GET /api/v1/quarantine", "otpranc-"},
    {"POST /api/v1/quarantine", "otpran"},
    {"POST /api/v1/quarantine/lift", "r"},
    {"POST /api/v1/shift/end", "otpran"},
    {"POST /api/v1/fittings/{serial}/evidence", "o"},
    {"POST /api/v1/fittings/{serial}/permit", "o"},
    {"DELETE /api/v1/fittings/{serial}/permit", "otpran"},
    {"POST /api/v1/fittings/{serial}/judge", "o"},
    {"POST /api/v1/fittings/{serial}/release", "o"},
    {"POST /api/v1/fittings/{serial}/aside", "o"},
    {"POST /api/v1/fittings/{serial}/resume", "o"},
    {"POST /api/v1/fittings/{serial}/hold", "otpran"},
    {"POST /api/v1/fittings/{serial}/disposition", "r"},
    {"POST /api/v1/press/control", "ot"},
    {"DELETE /api/v1/press/control", "otpran"},
    {"POST /api/v1/press/open-dies", "otpran"},
    {"POST /api/v1/press/clear-fault", "ot"},
    {"POST /api/v1/press/zero-pressure", "ot"},
    {"GET /api/v1/workshop/calibration", "otpranc-"},
    {"POST /api/v1/workshop/calibration", "t"},
    {"POST /api/v1/workshop/calibration/runs", "t"},
    {"POST /api/v1/workshop/calibration/readings", "t"},
    {"POST /api/v1/workshop/calibration/finish", "t"},
    {"POST /api/v1/workshop/calibration/leave", "t"},
    {"GET /api/v1/workshop/health", "otpranc-"},
    {"GET /api/v1/workshop/due", "otpranc-"},
    {"GET /api/v1/workshop/trial", "otpranc-"},
    {"POST /api/v1/workshop/trial", "t"},
    {"DELETE /api/v1/workshop/trial", "t"},
    {"GET /api/v1/workshop/trial/report", "otpranc-"},
    {"GET /api/v1/workshop/drafts", "otpranc-"},
    {"POST /api/v1/workshop/drafts", "t"},
    {"GET /api/v1/workshop/drafts/{draft}", "otpranc-"},
    {"POST /api/v1/workshop/drafts/{draft}/release", "r"},
    {"POST /api/v1/workshop/drafts/{draft}/drop", "t"},
    {"GET /openapi.yaml", "otpranc-"},
    {"GET /api/v1/openapi.yaml", "otpranc-"},
    {"GET /", "otpranc-"},
    {"GET /{asset}", "otpranc-"},
};

}  // namespace

TEST_CASE("every route is open to those whom the table names, and to nobody else") {
  Rig rig;
  people::Person plain;
  plain.id = "plain-1";
  plain.name = "Demo Visitor";
  REQUIRE(rig.accounts.get().add(plain, "test"));
  const auto code = rig.accounts.get().issue_code("plain-1", "test").value().code;
  REQUIRE(rig.accounts.get().sign_in_by_code("plain-1", code, "").right());
  REQUIRE(rig.accounts.get().set_pin_by_code("plain-1", rig.accounts.get().standing("plain-1")->code_digest,
                                             DemoAccounts::pin));
  const std::map<char, std::string> people = {{'o', "op-1"},    {'t', "tech-1"},
                                              {'p', "plan-1"},  {'r', "rev-1"},
                                              {'n', "plain-1"}, {'a', DemoAccounts::administrator}};
  std::set<std::string> named;
  for (const auto& route : hmi::routes()) {
    const std::string name = std::string(route.method) + " " + std::string(route.path);
    INFO(name);
    REQUIRE(may.count(name) == 1);  // a route that this table does not know has not been thought about
    named.insert(name);
    rig.clock.monotonic += 1000;  // of many sessions the oldest go, not those of this route
    std::map<char, std::string> tokens = {{'-', ""}};
    for (const auto& [letter, id] : people) tokens[letter] = rig.sign_in(id);
    tokens['c'] = sign_in_by_code(rig, "all-1");
    for (const auto& [letter, token] : tokens) {
      Call call{.method = std::string(route.method), .path = std::string(route.path), .token = token};
      if (const auto at = call.path.find('{'); at != std::string::npos)
        call.path = call.path.substr(0, at) + "nobody" + call.path.substr(call.path.find('}') + 1);
      if (name == "GET /api/v1/events") call.method = "HEAD";  // the stream itself never ends
      // The body is wrong on purpose, so that nothing happens: who may not come in is told so before it is
      // read.
      if (call.method != "GET" && call.method != "HEAD") call.body = R"({"nothing":"of this name"})";
      const int status = rig.call(call).status;
      INFO(letter << " was answered " << status);
      const bool in = may.at(name).find(letter) != std::string::npos;
      if (in) CHECK((status != 401 && status != 403));
      if (!in) CHECK(status == (letter == '-' ? 401 : 403));
    }
  }
  CHECK(named.size() == may.size());
  CHECK(rig.station.acts().empty());
}

TEST_CASE("a wrong PIN is told with the tries that are left, then with the seconds to wait") {
  Rig rig;
  const auto attempt = [&](const std::string& pin) {
    return rig.post("/api/v1/session", sign_in_body("op-1", pin), "");
  };
  for (int left = 4; left >= 1; --left) {
    const auto answer = attempt("0000");
    CHECK(answer.status == 401);
    CHECK(answer.json().at("tries_left") == left);
    CHECK(answer.json().at("wait_s") == 0);
    CHECK(answer.body.find("0000") == std::string::npos);  // what was typed is never repeated
  }
  CHECK(attempt("0000").json().at("wait_s") == 30);
  const auto waiting = attempt(DemoAccounts::pin);
  CHECK(waiting.status == 429);
  CHECK(waiting.header("retry-after") == "30");
  rig.clock.monotonic += 30'000'000;
  CHECK(attempt(DemoAccounts::pin).status == 200);
  CHECK(attempt("0000").json().at("tries_left") == 4);  // a success has wiped the slate
}

TEST_CASE("somebody unknown, somebody without a PIN and somebody with another PIN are answered alike") {
  const Rig rig;
  people::Person fresh;
  fresh.id = "new-1";
  fresh.name = "Demo Newcomer";
  REQUIRE(rig.accounts.get().add(fresh, "test"));
  for (int i = 0; i < 6; ++i) {
    const auto with = rig.post("/api/v1/session", sign_in_body("op-1", "0000"), "");
    const auto without = rig.post("/api/v1/session", sign_in_body("new-1", "0000"), "");
    const auto unknown = rig.post("/api/v1/session", sign_in_body("nobody", "0000"), "");
    INFO("try " << i);
    CHECK(with.status == (i < 5 ? 401 : 429));
    CHECK(without.status == with.status);
    CHECK(unknown.status == with.status);
    CHECK(without.body == with.body);
    CHECK(unknown.body == with.body);
  }
}

TEST_CASE("one address cannot try everybody's PIN") {
  Rig rig;
  int wrong = 0, waiting = 0;
  for (int i = 0; i < 40; ++i) {
    const auto answer = rig.post("/api/v1/session", sign_in_body("nobody-" + std::to_string(i), "0000"), "");
    ++(answer.status == 401 ? wrong : waiting);
  }
  CHECK(wrong == 20);
  CHECK(waiting == 20);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 429);
  rig.clock.monotonic += 15'000'000;
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 200);
}

TEST_CASE("a one-time code sets a PIN, does nothing else, and is used up by it") {
  const Rig rig;
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  const auto issued = rig.post("/api/v1/people/op-1/code", "", admin).json();
  CHECK(issued.at("person") == "op-1");
  CHECK(issued.at("until_utc") == "2031-05-03T14:53:20Z");  // a day after the fake clock's
  const auto body = json{{"person", "op-1"}, {"code", issued.at("code")}}.dump();
  const auto by_code = rig.post("/api/v1/session", body, "");
  REQUIRE(by_code.status == 200);
  const auto token = by_code.json().at("token").get<std::string>();
  CHECK(rig.call({.path = "/api/v1/session", .token = token}).json().at("must_set_pin") == true);
  CHECK(rig.post("/api/v1/press/open-dies", "", token).status == 403);

  for (const char* simple : {"1234", "0000", "1212", "12", "12345678901234", "47a1"})
    CHECK(rig.post("/api/v1/session/pin", json{{"pin", simple}}.dump(), token).status == 400);
  const auto set = rig.post("/api/v1/session/pin", R"({"pin":"2580"})", token);
  REQUIRE(set.status == 200);
  CHECK(set.json().at("must_set_pin") == false);
  CHECK(status_of_session(rig, token) == 401);  // gone on in a new session
  CHECK(status_of_session(rig, set.json().at("token")) == 200);
  CHECK(rig.post("/api/v1/session", body, "").status == 401);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 401);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1", "2580"), "").status == 200);
}

TEST_CASE("a changed PIN ends the person's other sessions, and only theirs") {
  const Rig rig;
  const auto here = rig.sign_in("op-1"), there = rig.sign_in("op-1"), other = rig.sign_in("rev-1");
  CHECK(rig.post("/api/v1/session/pin", R"({"pin":"2580","old_pin":"1111"})", here).status == 403);
  CHECK(rig.post("/api/v1/session/pin", R"({"pin":"2580"})", here).status == 400);
  const auto changed = rig.post("/api/v1/session/pin", R"({"pin":"2580","old_pin":"4711"})", here);
  REQUIRE(changed.status == 200);
  CHECK(status_of_session(rig, changed.json().at("token")) == 200);
  CHECK(status_of_session(rig, here) == 401);
  CHECK(status_of_session(rig, there) == 401);
  CHECK(status_of_session(rig, other) == 200);
}

TEST_CASE("the cookie is for this page alone, and for https alone where the page came by it") {
  const Rig rig;
  const auto plain = rig.call({.method = "POST", .path = "/api/v1/session", .body = sign_in_body("op-1")});
  CHECK(plain.header("set-cookie").find("; Path=/; HttpOnly; SameSite=Strict") != std::string::npos);
  CHECK(plain.header("set-cookie").find("Secure") == std::string::npos);
  const auto behind_tls = rig.call({.method = "POST",
                                    .path = "/api/v1/session",
                                    .body = sign_in_body("op-1"),
                                    .origin = "https://127.0.0.1:8080"});
  REQUIRE(behind_tls.status == 200);
  CHECK(behind_tls.header("set-cookie").find("; HttpOnly; SameSite=Strict; Secure") != std::string::npos);
}

TEST_CASE("another site's page signs nobody in, changes nothing, and may be followed here by a link") {
  const Rig rig;
  const std::string from_elsewhere = "Sec-Fetch-Site: cross-site\r\n";
  CHECK(rig.call({.method = "POST",
                  .path = "/api/v1/session",
                  .body = sign_in_body("op-1"),
                  .more_headers = from_elsewhere})
            .status == 403);
  const auto token = rig.sign_in("op-1");
  CHECK(rig.call({.method = "POST",
                  .path = "/api/v1/press/open-dies",
                  .token = token,
                  .more_headers = from_elsewhere})
            .status == 403);
  CHECK(rig.station.orders().empty());
  CHECK(rig.call({.path = "/", .more_headers = from_elsewhere}).status == 200);
}

TEST_CASE("whoever signs in where somebody was signed in ends that session") {
  const Rig rig;
  const auto before = rig.sign_in("op-1"), elsewhere = rig.sign_in("op-1");
  CHECK(rig.post("/api/v1/session", sign_in_body("rev-1", "0000"), before).status == 401);
  CHECK(status_of_session(rig, before) == 200);  // a wrong PIN signs nobody out
  CHECK(rig.post("/api/v1/session", sign_in_body("rev-1"), before).status == 200);
  CHECK(status_of_session(rig, before) == 401);
  CHECK(status_of_session(rig, elsewhere) == 200);
}

TEST_CASE("whoever is removed, or loses a role, is signed out at once; a role gained is there at once") {
  const Rig rig;
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  const auto tech = rig.sign_in("tech-1"), op = rig.sign_in("op-1"), planner = rig.sign_in("plan-1");
  REQUIRE(rig.post("/api/v1/people/plan-1/roles", R"({"roles":["planner","technician"]})", admin).status ==
          200);
  CHECK(rig.post("/api/v1/press/clear-fault", "", planner).status == 200);
  REQUIRE(rig.post("/api/v1/people/tech-1/roles", R"({"roles":[]})", admin).status == 200);
  CHECK(status_of_session(rig, tech) == 401);
  REQUIRE(rig.post("/api/v1/people/op-1/removal", "", admin).status == 200);
  CHECK(status_of_session(rig, op) == 401);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 401);
  for (const auto& person : rig.get("/api/v1/library").json().at("people")) CHECK(person.at("id") != "op-1");
}

TEST_CASE("the last administrator with a PIN can neither be removed nor lose the role") {
  const Rig rig;
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  CHECK(rig.post("/api/v1/people/admin-1/removal", "", admin).status == 400);
  CHECK(rig.post("/api/v1/people/admin-1/roles", R"({"roles":["operator"]})", admin).status == 400);
  REQUIRE(rig.post("/api/v1/people/rev-1/roles", R"({"roles":["reviewer","administrator"]})", admin).status ==
          200);
  CHECK(rig.post("/api/v1/people/admin-1/removal", "", admin).status == 200);
}

TEST_CASE("people are added, qualified and listed for an administrator") {
  const Rig rig;
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  const std::string newcomer = R"({"id":"new-1","name":"Demo Newcomer","roles":["operator","planner"]})";
  const auto added = rig.post("/api/v1/people", newcomer, admin);
  REQUIRE(added.status == 201);
  CHECK(added.json().at("person") == json{{"id", "new-1"},
                                          {"name", "Demo Newcomer"},
                                          {"roles", {"operator", "planner"}},
                                          {"qualified", json::object()},
                                          {"has_pin", false},
                                          {"code_waits", false},
                                          {"code_until_utc", nullptr},
                                          {"tries_failed", 0},
                                          {"locked_for_s", 0}});
  CHECK(rig.post("/api/v1/people", newcomer, admin).status == 400);
  CHECK(rig.post("/api/v1/people", R"({"id":"New 1","name":"x","roles":[]})", admin).status == 400);
  CHECK(rig.post("/api/v1/people", R"({"id":"station","name":"x","roles":[]})", admin).status == 400);
  CHECK(rig.post("/api/v1/people", R"({"id":"x","name":"x","roles":["king"]})", admin).status == 400);
  CHECK(rig.post("/api/v1/people/nobody/code", "", admin).status == 404);

  const auto qualify = [&](const std::string& body) {
    return rig.post("/api/v1/people/new-1/qualification", body, admin);
  };
  const auto qualified = qualify(R"({"family":"straight-shank-hexagon","until":"2031-12-31"})");
  CHECK(qualified.json().at("person").at("qualified") == json{{"straight-shank-hexagon", "2031-12-31"}});
  CHECK(rig.accounts.get().person("new-1")->qualified_until_day.at("straight-shank-hexagon") == 22644);
  CHECK(qualify(R"({"family":"straight-shank-hexagon","until":"2031-02-30"})").status == 400);
  CHECK(qualify(R"({"family":"straight-shank-hexagon","until":null})").json().at("person").at("qualified") ==
        json::object());
  const auto list = rig.call({.path = "/api/v1/people", .token = admin}).json().at("people");
  CHECK(list.size() == 7);
}

TEST_CASE("a lock-out is on record, and an administrator ends it") {
  const Rig rig;
  for (int i = 0; i < 5; ++i) (void)rig.post("/api/v1/session", sign_in_body("op-1", "0000"), "");
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 429);
  CHECK(rig.accounts.store.kept.back().entry.event == "locked_out");
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  const auto unlocked = rig.post("/api/v1/people/op-1/unlock", "", admin);
  CHECK(unlocked.json().at("person").at("locked_for_s") == 0);
  CHECK(rig.accounts.store.kept.back().entry.event == "unlocked");
  CHECK(rig.accounts.store.kept.back().entry.actor == DemoAccounts::administrator);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 200);
}

TEST_CASE("a PIN is given again before a signature, and counts towards lock-out too") {
  const Rig rig;
  const auto token = rig.sign_in("rev-1");
  const auto confirm = [&](const std::string& pin) {
    return rig.post("/api/v1/session/confirm", json{{"pin", pin}}.dump(), token);
  };
  CHECK(confirm(DemoAccounts::pin).json().at("confirmed_for_s") == 60);
  for (int i = 0; i < 5; ++i) CHECK(confirm("0000").status == 403);
  CHECK(confirm(DemoAccounts::pin).status == 429);
  CHECK(status_of_session(rig, token) == 200);  // the work under way goes on
}

TEST_CASE("a change that the disk refuses has not happened") {
  Rig rig;
  const auto admin = rig.sign_in(DemoAccounts::administrator);
  rig.accounts.store.broken = true;
  CHECK(rig.post("/api/v1/people/op-1/roles", R"({"roles":["administrator"]})", admin).status == 503);
  CHECK(rig.post("/api/v1/people/op-1/removal", "", admin).status == 503);
  CHECK(rig.accounts.get().person("op-1")->operator_role);
  CHECK_FALSE(rig.accounts.get().person("op-1")->administrator_role);
  CHECK(rig.post("/api/v1/session", sign_in_body("op-1"), "").status == 200);
}
