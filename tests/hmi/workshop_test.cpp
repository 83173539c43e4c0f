#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <fstream>
#include <sstream>
#include <thread>

#include "client.hpp"

// Goal: what the workshop does over HTTP is asked for by the right person, recorded under their name, and
// refused with its reason where it may not be. Method: by HTTP, over a workshop with the shipped library.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

namespace {

const std::string base = "/api/v1/workshop";

json begin_body() {
  return {{"cell", DemoWorkshop::cell}, {"range", "600 kN"}, {"resolution", "0.2 kN"},
          {"class_needed", "1"},        {"preloaded", true}, {"steps", 5}};
}

/// Goes through what is asked until nothing but the end is; the last answer.
json go_through(const Rig& rig, const std::string& token, double error_percent) {
  json now = rig.post(base + "/calibration", begin_body().dump(), token).json();
  for (int i = 0; i < 60 && now.at("asked").at("what") != "finish"; ++i) {
    const json& asked = now.at("asked");
    const int run = asked.at("run");
    Answer answer;
    if (asked.at("what") == "run") {
      answer = rig.post(base + "/calibration/runs",
                        json{{"cell_angle", std::to_string((run - 1) * 120) + " deg"},
                             {"ram_position", std::to_string(run * 10) + " mm"}}
                            .dump(),
                        token);
    } else if (asked.at("what") == "zero") {
      answer = rig.post(base + "/calibration/readings",
                        json{{"run", run}, {"step", 0}, {"indicated", "0.1 kN"}}.dump(), token);
    } else {
      const double target_kn = asked.at("target_kn");
      answer = rig.post(base + "/calibration/readings",
                        json{{"run", run},
                             {"step", asked.at("step")},
                             {"cell", std::to_string(target_kn / (1 + error_percent / 100)) + " kN"},
                             {"indicated", std::to_string(target_kn) + " kN"}}
                            .dump(),
                        token);
    }
    REQUIRE(answer.status == 200);
    now = answer.json();
  }
  return now;
}

json trial_when_ended(const Rig& rig) {
  for (;;) {
    auto state = rig.get(base + "/trial").json();
    if (state.at("state") != "running") return state;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
}

}  // namespace

TEST_CASE("a calibration by HTTP: every error is told at once, and the end wants a PIN") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  CHECK(rig.get(base + "/calibration").json().at("due") == "2031-05-02");
  CHECK(rig.get(base + "/calibration").json().at("due_from") == "shop_register");
  const json now = go_through(rig, token, 0.4);
  const auto& running = now.at("running");
  CHECK(running.at("result").at("class") == "0.5");
  CHECK(running.at("meets") == true);
  CHECK(running.at("runs").at(1).at("cell_angle_deg") == 120);
  CHECK(running.at("runs").at(0).at("readings").at(2).at("error_percent").get<double>() ==
        Approx(0.4).margin(1e-4));
  CHECK(running.at("runs").at(0).at("readings").at(2).at("by") == "tech-1");
  CHECK(running.at("runs").at(0).at("readings").at(2).at("pressure_bar").is_null());

  const auto finish = [&](const json& body) {
    return rig.post(base + "/calibration/finish", body.dump(), token);
  };
  CHECK(finish({{"due", "2032-05-01"}}).status == 403);
  CHECK(finish({{"due", "2032-05-01"}, {"pin", "0000"}}).status == 403);
  CHECK(finish({{"due", "2032-05-04"}, {"pin", "4711"}}).status == 422);
  CHECK(finish({{"due", "01.05.2032"}, {"pin", "4711"}}).json().at("problem").at("place") == "/due");
  const auto done = finish({{"due", "2032-05-01"}, {"pin", "4711"}});
  REQUIRE(done.status == 200);
  CHECK(done.json().at("running").is_null());
  CHECK(done.json().at("due") == "2032-05-01");
  CHECK(done.json().at("due_from") == "record");
  CHECK(done.json().at("earlier").at(0).at("by") == "tech-1");
  const auto& entry = rig.accounts.store.kept.back().entry;
  CHECK(entry.event == "force_calibrated");
  CHECK(entry.actor == "tech-1");
}

TEST_CASE("without a typed force the station reads the press itself, and only while it hears of it") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  REQUIRE(rig.post(base + "/calibration", begin_body().dump(), token).status == 200);
  REQUIRE(rig.post(base + "/calibration/runs", R"({"cell_angle":"0 deg"})", token).status == 200);
  auto snapshot = demo_snapshot();
  snapshot.press.pressure_bar = 57;  // x 210 cm2 = 119.7 kN
  rig.station.publish(snapshot);
  const json reading = {{"run", 1}, {"step", 1}, {"cell", "119 kN"}};
  const auto taken = rig.post(base + "/calibration/readings", reading.dump(), token);
  REQUIRE(taken.status == 200);
  const auto first = taken.json().at("running").at("runs").at(0).at("readings").at(0);
  CHECK(first.at("pressure_bar") == 57);
  CHECK(first.at("indicated_kn").get<double>() == Approx(119.7));
  snapshot.press_fresh = false;
  rig.station.publish(snapshot);
  const auto refused = rig.post(base + "/calibration/readings", reading.dump(), token);
  CHECK(refused.status == 422);
  CHECK(refused.json().at("problem").at("place") == "/indicated");
}

TEST_CASE("what the station reads of the press is the mean of ten scans, not the noise of one") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  REQUIRE(rig.post(base + "/calibration", begin_body().dump(), token).status == 200);
  REQUIRE(rig.post(base + "/calibration/runs", R"({"cell_angle":"0 deg"})", token).status == 200);
  auto snapshot = demo_snapshot();
  snapshot.press.pressure_bar = 56.5;
  rig.station.publish(snapshot);
  std::atomic<bool> read{false};
  std::thread press([&] {  // 56.5 and 57.5 bar in turn, a new scan each time
    while (!read) {
      ++snapshot.press.number;
      snapshot.press.pressure_bar = 114 - snapshot.press.pressure_bar;
      rig.station.publish(snapshot);
      std::this_thread::sleep_for(std::chrono::milliseconds(3));
    }
  });
  const auto taken =
      rig.post(base + "/calibration/readings", R"({"run":1,"step":1,"cell":"119.7 kN"})", token);
  read = true;
  press.join();
  REQUIRE(taken.status == 200);
  // Between two and ten scans of two values in turn: their mean, or a little beside it for an odd number.
  const double bar =
      taken.json().at("running").at("runs").at(0).at("readings").at(0).at("pressure_bar").get<double>();
  CHECK(bar == Approx(57).margin(0.18));
}

TEST_CASE("bodies about a calibration that are wrong say where, and change nothing") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  const auto place = [&](const std::string& path, const json& body, int status) {
    const auto answer = rig.post(base + path, body.dump(), token);
    CHECK(answer.status == status);
    return answer.json().at("problem").at("place").get<std::string>();
  };
  json body = begin_body();
  body["range"] = "600";
  CHECK(place("/calibration", body, 400) == "/range");
  body = begin_body();
  body["class_needed"] = 1;
  CHECK(place("/calibration", body, 400) == "/class_needed");
  body = begin_body();
  body["steps"] = 13;
  CHECK(place("/calibration", body, 400) == "/steps");
  body = begin_body();
  body.erase("preloaded");
  CHECK(place("/calibration", body, 400) == "/preloaded");
  body = begin_body();
  body["preloaded"] = false;
  CHECK(place("/calibration", body, 422) == "/preloaded");
  CHECK(place("/calibration/runs", {{"cell_angle", "400 deg"}}, 400) == "/cell_angle");
  CHECK(place("/calibration/runs", {{"cell_angle", "0 deg"}}, 422).empty());
  CHECK(place("/calibration/readings", {{"run", 0}, {"step", 1}, {"cell", "1 kN"}}, 400) == "/run");
  CHECK(place("/calibration/readings", {{"run", 1}, {"step", 1}}, 400) == "/cell");
  CHECK(place("/calibration/readings", {{"run", 1}, {"step", 0}, {"cell", "1 kN"}}, 400) == "/cell");
  CHECK(place("/calibration/leave", {{"reason", "  "}}, 400) == "/reason");
  CHECK(rig.get(base + "/calibration").json().at("running").is_null());
}

TEST_CASE("a calibration that is left goes on record with its reason") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  REQUIRE(rig.post(base + "/calibration", begin_body().dump(), token).status == 200);
  const auto left = rig.post(base + "/calibration/leave", R"({"reason":"the cell slipped"})", token);
  CHECK(left.status == 200);
  CHECK(left.json().at("running").is_null());
  CHECK(rig.accounts.store.kept.back().entry.event == "force_calibration_left");
}

TEST_CASE("what falls due is told with the most urgent first, and health with what the record knows") {
  Rig rig;
  const auto items = rig.get(base + "/due").json().at("items");
  CHECK(items.at(0).at("id") == "caliper-1");
  CHECK(items.at(0).at("urgency") == "overdue");
  CHECK(items.at(0).at("days_left") == -1);
  CHECK(items.at(0).at("about") == "caliper");
  CHECK(items.at(1).at("kind") == "press_calibration");
  CHECK(items.at(1).at("urgency") == "soon");
  ports::NewEntry lost;
  lost.kind = "station";
  lost.event = "link_lost";
  lost.actor = "station";
  lost.at_utc_us = 1'935'500'000'000'000;
  lost.body_json = R"({"problem":"no answer in time"})";
  ports::NewEntry cleared = lost;
  cleared.event = "clear_fault";
  cleared.actor = "tech-1";
  cleared.body_json = R"({"token":7,"fault_code":3,"fitting":""})";
  REQUIRE(rig.accounts.store.append({lost, cleared}));
  const auto events = rig.get(base + "/health").json().at("events");
  REQUIRE(events.size() == 2);
  CHECK(events.at(0).at("event") == "clear_fault");
  CHECK(events.at(0).at("fault_code") == 3);
  CHECK(events.at(0).at("fault") != "");
  CHECK(events.at(1).at("detail") == "no answer in time");
}

TEST_CASE("a trial runs in the background; its draft is released by a second person, with PIN and reason") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  CHECK(rig.get(base + "/trial").json().at("state") == "none");
  CHECK(rig.get(base + "/trial/report").status == 404);
  CHECK(rig.post(base + "/trial", R"({"recipe":"no-such"})", token).json().at("problem").at("place") ==
        "/recipe");
  const auto begun =
      rig.post(base + "/trial", json{{"recipe", DemoWorkshop::recipe}, {"fittings", 1500}}.dump(), token);
  REQUIRE(begun.status == 202);
  CHECK(begun.json().at("state") == "running");
  CHECK(begun.json().at("by") == "tech-1");
  CHECK(rig.post(base + "/trial", json{{"recipe", DemoWorkshop::recipe}}.dump(), token).status == 422);
  CHECK(rig.post(base + "/drafts", R"({"trial":1})", token).status == 422);  // not finished
  CHECK(trial_when_ended(rig).at("state") == "done");
  const auto report = rig.get(base + "/trial/report").json();
  CHECK(report.at("fittings") == 1500);
  const double recommended_kn = report.at("window").at("recommended_kn");

  CHECK(rig.post(base + "/drafts", R"({"trial":2})", token).status == 422);
  const auto made = rig.post(base + "/drafts", R"({"trial":1})", token);
  REQUIRE(made.status == 201);
  const auto draft = made.json().at("draft");
  const std::string id = draft.at("id");
  CHECK(draft.at("made_by") == "tech-1");
  CHECK(draft.at("against_revision") == 2);
  CHECK(draft.at("faults").empty());
  CHECK(draft.at("trial").at("recommended_kn").get<double>() == recommended_kn);
  CHECK(rig.get(base + "/drafts").json().at("drafts").at(0).at("state") == "waiting");
  CHECK(rig.get(base + "/drafts/nobody.r1").status == 404);

  const auto release = [&](const std::string& person, const json& body, const std::string& of) {
    return rig.post(base + "/drafts/" + of + "/release", body.dump(), rig.sign_in(person));
  };
  const json signed_reason = {{"reason", "tried on five parts"}, {"pin", "4711"}};
  CHECK(release("tech-1", signed_reason, id).status == 403);  // not a reviewer
  CHECK(release("rev-1", {{"reason", "tried"}}, id).status == 403);
  CHECK(release("rev-1", {{"reason", " "}, {"pin", "4711"}}, id).status == 400);
  CHECK(release("rev-1", signed_reason, "nobody.r1").status == 404);
  // Somebody with every role made this one: not theirs to release, whatever their roles.
  const auto own = rig.post(base + "/drafts", R"({"trial":1})", rig.sign_in("all-1")).json().at("draft");
  CHECK(release("all-1", signed_reason, own.at("id")).status == 403);
  CHECK(
      rig.post(base + "/drafts/" + own.at("id").get<std::string>() + "/drop", R"({"reason":"twice"})", token)
          .status == 200);

  const auto released = release("rev-1", signed_reason, id);
  REQUIRE(released.status == 200);
  CHECK(released.json().at("draft").at("state") == "released");
  CHECK(released.json().at("draft").at("ended_by") == "rev-1");
  CHECK(released.json().at("draft").at("in_force") == false);  // until the next start
  std::ifstream in(rig.workshop.folder() / "recipes" / (id + ".yaml"));
  std::stringstream text;
  text << in.rdbuf();
  CHECK(text.str().find("status: released") != std::string::npos);
}

TEST_CASE("a trial can be cancelled, and the press's picture goes on meanwhile") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  REQUIRE(rig.post(base + "/trial", json{{"recipe", DemoWorkshop::recipe}}.dump(), token).status == 202);
  CHECK(rig.get("/api/v1/station").status == 200);
  CHECK(rig.call({.method = "DELETE", .path = base + "/trial", .token = token}).status == 200);
  CHECK(trial_when_ended(rig).at("state") == "cancelled");
}
