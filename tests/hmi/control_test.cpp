#include <atomic>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <thread>

#include "client.hpp"
#include "hmi/server/control.hpp"
#include "hmi/server/sessions.hpp"

// Goal: two people cannot drive one press. One screen holds control, everybody sees which, it passes on only
// by leave, by silence or by a take-over that is on record; and stopping something never waits for it.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

namespace {

const std::string start_body =
    R"({"recipe":"demo-recipe","job":"demo job","rope_lot":"rope-lot-1","terminal_lot":"terminal-lot-1"})";

struct TwoScreens : Rig {
  std::string panel = sign_in("op-1"), tablet = sign_in("all-1"), bench = sign_in("tech-1"),
              desk = sign_in("rev-1");

  [[nodiscard]] Answer start(const std::string& token) const {
    return post("/api/v1/fittings", start_body, token);
  }
  [[nodiscard]] Answer take(const std::string& token, const std::string& from) const {
    return post("/api/v1/press/control", from.empty() ? "{}" : json{{"from", from}}.dump(), token);
  }
  [[nodiscard]] json control(const std::string& token = "") const {
    return call({.path = "/api/v1/station", .token = token}).json().at("control");
  }
  [[nodiscard]] std::string active() const { return station.latest()->active->serial; }
};

std::string code_of(const Answer& answer) {
  return answer.status == 409 ? answer.json().at("refusals").at(0).at("code").get<std::string>() : "";
}

}  // namespace

TEST_CASE("whoever acts first holds control, and every screen is told who and since when") {
  const TwoScreens shop;
  CHECK(shop.control().is_null());
  REQUIRE(shop.start(shop.panel).status == 201);
  const json seen = {
      {"person", "op-1"}, {"name", "Demo Operator"}, {"since_utc", "2031-05-02T14:53:20.000Z"}};
  json here = seen, elsewhere = seen;
  here["here"] = true;
  elsewhere["here"] = false;
  CHECK(shop.control(shop.panel) == here);
  CHECK(shop.control(shop.tablet) == elsewhere);
  CHECK(shop.control() == elsewhere);
}

TEST_CASE("an act of another screen is refused with who holds control and what to do, and reaches nothing") {
  const TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  const auto calls = shop.station.calls();
  const std::string at_press = "/api/v1/fittings/" + shop.active();
  for (const auto& [path, body] :
       std::map<std::string, std::string>{{"/api/v1/fittings", start_body},
                                          {at_press + "/evidence", R"({"kind":"surface","result":"sound"})"},
                                          {at_press + "/permit", ""},
                                          {at_press + "/judge", ""},
                                          {at_press + "/release", ""},
                                          {at_press + "/aside", ""},
                                          {"/api/v1/fittings/AT-aside/resume", ""},
                                          {"/api/v1/press/clear-fault", ""},
                                          {"/api/v1/press/zero-pressure", ""}}) {
    INFO(path);
    const auto answer = shop.post(path, body, shop.tablet);
    CHECK(code_of(answer) == "control_held_elsewhere");
    const auto refusal = answer.json().at("refusals").at(0);
    CHECK(refusal.at("what") ==
          "Demo Operator (op-1) holds control of the press at another screen, since 2031-05-02T14:53:20Z.");
    CHECK_FALSE(refusal.at("what_to_do").get<std::string>().empty());
  }
  CHECK(shop.station.calls() == calls);
}

TEST_CASE("who acts at another screen carries control along") {
  const TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  const auto own_tablet = shop.sign_in("op-1");
  CHECK_FALSE(shop.control(own_tablet).at("here").get<bool>());
  CHECK(code_of(shop.post("/api/v1/fittings/" + shop.active() + "/judge", "", own_tablet)) !=
        "control_held_elsewhere");
  CHECK(shop.control(own_tablet).at("here").get<bool>());
  CHECK_FALSE(shop.control(shop.panel).at("here").get<bool>());
}

TEST_CASE("stopping wants no control, nor does a fitting that lies elsewhere") {
  const TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  const std::string at_press = "/api/v1/fittings/" + shop.active();
  CHECK(shop.call({.method = "DELETE", .path = at_press + "/permit", .token = shop.desk}).status == 200);
  CHECK(shop.post(at_press + "/hold", "", shop.desk).status == 200);
  CHECK(shop.post("/api/v1/press/open-dies", "", shop.desk).status == 200);
  REQUIRE(shop.active() != "AT-accepted");
  CHECK(shop.post("/api/v1/fittings/AT-accepted/release", "", shop.tablet).status == 200);
  CHECK(shop.control(shop.panel).at("here") == true);
}

TEST_CASE("control is taken over by an operator or technician who names from whom, and that goes on record") {
  TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  CHECK(shop.take(shop.desk, "op-1").status == 403);
  CHECK(code_of(shop.take(shop.bench, "")) == "control_held_elsewhere");
  CHECK(code_of(shop.take(shop.bench, "rev-1")) == "control_held_elsewhere");
  CHECK(shop.station.taken_over().empty());
  shop.clock.utc += 90'000'000;
  const auto taken = shop.take(shop.bench, "op-1");
  REQUIRE(taken.status == 200);
  CHECK(taken.json().at("control").at("person") == "tech-1");
  CHECK(taken.json().at("control").at("here") == true);
  REQUIRE(shop.station.taken_over().size() == 1);
  CHECK(shop.station.taken_over()[0].actor == "tech-1");
  CHECK(shop.station.taken_over()[0].from == "op-1");
  CHECK(shop.station.taken_over()[0].held_since_utc_us == shop.clock.utc - 90'000'000);
  CHECK(code_of(shop.start(shop.panel)) == "control_held_elsewhere");
  CHECK(shop.take(shop.bench, "").status == 200);  // it has it
  CHECK(shop.station.taken_over().size() == 1);
}

TEST_CASE("control stays where it is while a bite runs, and when the disk cannot keep its change") {
  TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  shop.station.take_over_answer = ports::Acceptance::refused;
  CHECK(code_of(shop.take(shop.tablet, "op-1")) == "bite_under_way");
  shop.station.take_over_answer = ports::Acceptance::station_fault;
  CHECK(shop.take(shop.tablet, "op-1").status == 503);
  CHECK(shop.control(shop.panel).at("here") == true);
}

TEST_CASE("control ends with giving it up, signing out, the end of the shift, and the session") {
  TwoScreens shop;
  const auto hold_and = [&](const Call& call) {
    REQUIRE(shop.start(call.token).status == 201);
    REQUIRE(shop.call(call).status == 200);
    CHECK(shop.control().is_null());
  };
  hold_and({.method = "DELETE", .path = "/api/v1/press/control", .token = shop.panel});
  hold_and({.method = "POST", .path = "/api/v1/shift/end", .token = shop.panel});
  hold_and({.method = "DELETE", .path = "/api/v1/session", .token = shop.panel});
  REQUIRE(shop.start(shop.tablet).status == 201);
  const auto admin = shop.sign_in(DemoAccounts::administrator);
  REQUIRE(shop.post("/api/v1/people/all-1/removal", "", admin).status == 200);
  CHECK(shop.call({.path = "/api/v1/session", .token = shop.tablet}).status == 401);
  CHECK(shop.control().is_null());
}

TEST_CASE("somebody else's end of shift or leave does not take control away") {
  const TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  CHECK(shop.post("/api/v1/shift/end", "", shop.desk).status == 200);
  CHECK(shop.call({.method = "DELETE", .path = "/api/v1/press/control", .token = shop.tablet}).status == 200);
  CHECK(shop.call({.method = "DELETE", .path = "/api/v1/session", .token = shop.tablet}).status == 200);
  CHECK(shop.control(shop.panel).at("here") == true);
}

TEST_CASE("a screen silent for a minute has let go; one that follows the events has not") {
  TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  Connection following(shop.port);
  following.send(request_text({.path = "/api/v1/events", .token = shop.panel}));
  REQUIRE(following.read_until("\"here\":true", 5000).find("\"here\":true") != std::string::npos);
  shop.clock.monotonic += 59'000'000;
  CHECK(following.read_until("\n\n", 5000).find("\n\n") != std::string::npos);
  (void)following.read_for(700);  // two signs of life at least
  shop.clock.monotonic += 59'000'000;
  CHECK(shop.control(shop.panel).at("here") == true);

  following.end_sending();  // a screen switched off
  REQUIRE(following.closes_within(5000));
  shop.clock.monotonic += 61'000'000;
  CHECK(shop.control().is_null());
  CHECK(shop.start(shop.tablet).status == 201);
  CHECK(shop.station.taken_over().empty());  // over nobody's head
}

TEST_CASE("a stream tells within a moment that control has passed on") {
  const TwoScreens shop;
  REQUIRE(shop.start(shop.panel).status == 201);
  Connection following(shop.port);
  following.send(request_text({.path = "/api/v1/events", .token = shop.panel}));
  REQUIRE(following.read_until("\"here\":true", 5000).find("\"here\":true") != std::string::npos);
  REQUIRE(shop.take(shop.tablet, "op-1").status == 200);
  const auto told = following.read_until("\"here\":false", 5000);
  CHECK(told.find(R"("person":"all-1")") != std::string::npos);
}

TEST_CASE("a request that is not understood takes no control") {
  const TwoScreens shop;
  CHECK(shop.post("/api/v1/fittings", R"({"colour":"red"})", shop.panel).status == 400);
  CHECK(shop.post("/api/v1/fittings/none/resume", "", shop.panel).status == 404);
  CHECK(shop.control().is_null());
  CHECK(shop.post("/api/v1/press/control", R"({"from":7})", shop.panel).json().at("problem").at("place") ==
        "/from");
}

TEST_CASE("control never changes hands in the middle of an act") {
  hmi::Sessions sessions;
  hmi::Control control(sessions);
  const auto one = sessions.open({"op-1", 0, ""}, 0), two = sessions.open({"op-2", 0, ""}, 0);
  std::atomic<bool> acting = true, asked_while_acting = false;
  std::thread other;
  {
    const auto act = control.begin(one, "op-1", "One", {1, 1});
    REQUIRE(act.granted());
    other = std::thread([&] {
      (void)control.take(two, "op-2", "Two", "op-1", {2, 2}, [&](const hmi::Control::Holder&) {
        asked_while_acting = acting.load();
        return true;
      });
    });
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    CHECK(control.holder(3)->person_id == "op-1");
    acting = false;
  }
  other.join();
  CHECK_FALSE(asked_while_acting);
  CHECK(control.holder(3)->person_id == "op-2");
}
