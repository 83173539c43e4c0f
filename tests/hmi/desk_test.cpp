#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "client.hpp"

// Goal: a reviewer is told how one box was read, gets every fitting of an export or a connection that is cut
// off, and knows the record's state; a planner's job is kept only when it can be cut, and every fault is at
// its place.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

namespace {

json job() {
  return json::parse(R"JSON({"id":"demo-shrouds","title":"Two shrouds (demo data)","source":"demo data",
    "cutting":{"loss":"3 mm","tolerance":"1 mm"},
    "assemblies":[{"mark":"CAP","quantity":2,"rope":"demo-rope","pin_to_pin":"9.87 m","tension":"0.5 kN",
      "prestretched":true,
      "ends":[{"made":"swaged","recipe":"demo-recipe"},{"made":"swaged","recipe":"demo-recipe"}]}]})JSON");
}

std::vector<std::string> places(const json& faults) {
  std::vector<std::string> out;
  for (const auto& fault : faults) out.push_back(fault.at("place").get<std::string>());
  return out;
}

/// The chunks of a body joined, and whether its last one came.
std::pair<std::string, bool> unchunked(const std::string& raw) {
  std::string out;
  auto at = raw.find("\r\n\r\n");
  if (at == std::string::npos) return {"", false};
  at += 4;
  while (true) {
    const auto end = raw.find("\r\n", at);
    if (end == std::string::npos) return {out, false};
    const auto size = std::stoul(raw.substr(at, end - at), nullptr, 16);
    if (size == 0) return {out, true};
    out += raw.substr(end + 2, size);
    at = end + 2 + size + 2;
    if (at > raw.size()) return {out, false};
  }
}

}  // namespace

TEST_CASE("what was asked in one box is told back, and reaches the record as conditions") {
  const Rig rig;
  const auto answer = rig.get("/api/v1/fittings?ask=caliper-1%20held%202031-05-04&limit=2");
  REQUIRE(answer.status == 200);
  const auto body = answer.json();
  CHECK(body.at("reading").at("words") == "measured with caliper-1, verdict held, begun on 2031-05-04");
  CHECK(body.at("reading").at("parts").at(1) ==
        json({{"as", "verdict"}, {"value", "held"}, {"words", "verdict held"}}));
  CHECK(body.at("fittings").size() == 2);
  CHECK(body.at("next_after") == "S-0002");
  CHECK(rig.record.last_filter().gauge_id == "caliper-1");
  CHECK(rig.record.last_filter().verdict == "held");
  CHECK(rig.get("/api/v1/fittings?ask=caliper-1&after=S-0002").json().at("fittings").size() == 3);
}

TEST_CASE("a mistyped serial that finds nothing is answered with those near to it") {
  Rig rig;
  rig.record.rows = 0;
  const auto body = rig.get("/api/v1/fittings?ask=SW-000003-QG").json();
  CHECK(body.at("reading").at("serial_mistyped") == true);
  CHECK(body.at("near") == json({"SW-000002-QG"}));
  CHECK(rig.get("/api/v1/fittings?ask=cracked").json().at("near").empty());
}

TEST_CASE("what cannot be asked is refused at its place, and one box holds all conditions") {
  const Rig rig;
  const auto place = [&](const char* query) {
    const auto answer = rig.get(std::string("/api/v1/fittings?") + query);
    CHECK(answer.status == 400);
    return answer.json().at("problem").at("place").get<std::string>();
  };
  CHECK(place("ask=2031-02-30") == "ask");
  CHECK(place("ask=caliper-1%20caliper-2") == "ask");
  CHECK(place("ask=held&verdict=open") == "verdict");
}

TEST_CASE("an export has every fitting, as CSV and as JSON, and no page") {
  Rig rig;
  rig.record.rows = 60;
  const auto read = [&](const char* path) {
    Connection connection(rig.port);
    connection.send(request_text({.path = path}));
    return unchunked(connection.read_for(1500));
  };
  const auto [csv, csv_whole] = read("/api/v1/fittings.csv");
  CHECK(csv_whole);
  CHECK(csv.starts_with("serial,"));
  CHECK(std::count(csv.begin(), csv.end(), '\n') == 61);
  const auto [text, json_whole] = read("/api/v1/fittings.json?ask=held");
  CHECK(json_whole);
  CHECK(json::parse(text).size() == 60);
  CHECK(json::parse(text).at(59).at("serial") == "S-0060");
  CHECK(rig.record.last_filter().verdict == "held");
  CHECK(rig.get("/api/v1/fittings.csv?limit=5").status == 400);
  CHECK(rig.call({.method = "HEAD", .path = "/api/v1/fittings.csv"}).status == 200);
}

TEST_CASE("an export that the record ends early does not look whole") {
  Rig rig;
  rig.review.breaks_off = true;
  Connection connection(rig.port);
  connection.send(request_text({.path = "/api/v1/fittings.json"}));
  CHECK_FALSE(unchunked(connection.read_for(1500)).second);
}

TEST_CASE("exports without end neither fill the memory nor keep others out for long") {
  Rig rig;
  rig.review.endless = true;
  std::vector<std::unique_ptr<Connection>> readers;
  for (int i = 0; i < 4; ++i) {
    readers.push_back(std::make_unique<Connection>(rig.port));
    readers.back()->send(request_text({.path = "/api/v1/fittings.csv"}));
    CHECK(readers.back()->read_until("200 OK", 5000).find("200 OK") != std::string::npos);
  }
  const auto fifth = rig.get("/api/v1/fittings.csv");
  CHECK(fifth.status == 503);
  CHECK_FALSE(fifth.header("retry-after").empty());
  readers.clear();  // the peers are gone, so the writers end
  for (int tries = 0; tries < 50 && rig.call({.path = "/api/v1/fittings.csv?ask=%22"}).status == 503; ++tries)
    rig.review.endless = false;
  CHECK(rig.get("/api/v1/station").status == 200);
}

TEST_CASE("the record's state is known before, while and after it is verified") {
  Rig rig;
  CHECK(rig.get("/api/v1/integrity").json().at("state") == "never");
  CHECK(rig.get("/api/v1/integrity").json().at("sound").is_null());
  const auto token = rig.sign_in("rev-1");
  const auto begun = rig.post("/api/v1/integrity", "", token);
  CHECK(begun.status == 202);
  CHECK(begun.json().at("begun") == true);
  CHECK(begun.json().at("running_s") == 10);
  CHECK(begun.json().at("part") == "hashes");
  CHECK(begun.json().at("part_done") == 250);
  CHECK(begun.json().at("part_of") == 1000);
  const auto again = rig.post("/api/v1/integrity", "{}", token);
  CHECK(again.status == 200);
  CHECK(again.json().at("begun") == false);
  CHECK(rig.review.asked_by == std::vector<std::string>{"rev-1", "rev-1"});
  rig.review.verifying = false;
  rig.review.newest.state = ports::Verification::State::done;
  rig.review.newest.findings = {{17, "Entry 17: its content does not match its hash."}};
  const auto done = rig.get("/api/v1/integrity").json();
  CHECK(done.at("sound") == false);
  CHECK(done.at("findings").at(0).at("entry") == 17);
}

TEST_CASE("one dossier's chain and seal are told at once") {
  const Rig rig;
  const auto right = rig.get("/api/v1/fittings/S-0001/integrity").json();
  CHECK(right.at("chain_holds") == true);
  CHECK(right.at("sealed") == true);
  CHECK(right.at("seal").at("why") == "release");
  CHECK(rig.get("/api/v1/fittings/BROKEN/integrity").json().at("findings").at(0).at("entry") == 5);
  CHECK(rig.get("/api/v1/fittings/none/integrity").status == 404);
  CHECK(rig.get("/api/v1/fittings/FAULTY/integrity").status == 503);
}

TEST_CASE("a job is planned, kept, found again, changed and withdrawn, each on record") {
  const Rig rig;
  const auto token = rig.sign_in("plan-1");
  const auto checked = rig.post("/api/v1/jobs/check", job().dump(), token);
  REQUIRE(checked.status == 200);
  INFO(checked.body);
  CHECK(checked.json().at("good") == true);
  const double cut = checked.json().at("plan").at("assemblies").at(0).at("cut_length_mm").get<double>();
  CHECK(cut > 9000);
  CHECK(cut < 9870);
  CHECK(rig.get("/api/v1/jobs").json().at("jobs").empty());  // checking keeps nothing

  const auto entered = rig.post("/api/v1/jobs", job().dump(), token);
  REQUIRE(entered.status == 201);
  CHECK(entered.json().at("job").at("entered_by") == "plan-1");
  CHECK(entered.json().at("cuts_on_record").at(0).at("cut_length_mm") == cut);
  CHECK(entered.json().at("progress").at("whole").at("wanted") == 4);
  CHECK(rig.post("/api/v1/jobs", job().dump(), token).status == 409);  // the id is taken
  const auto list = rig.get("/api/v1/jobs").json().at("jobs");
  REQUIRE(list.size() == 1);
  CHECK(list[0].at("lines").at(0).at("job_text") == "demo-shrouds/CAP");
  CHECK(list[0].at("lines").at(0).at("recipes") == json({"demo-recipe", "demo-recipe"}));

  auto longer = job();
  longer["assemblies"][0]["pin_to_pin"] = "10 m";
  const auto of = entered.json().at("job").at("entry");
  const auto change = [&](const json& of_entry) {
    return rig.post("/api/v1/jobs/demo-shrouds", json{{"of", of_entry}, {"job", longer}}.dump(), token);
  };
  CHECK(change(of).status == 200);
  CHECK(change(of).status == 409);  // somebody has changed it since: the same entry is no longer the newest
  CHECK(rig.get("/api/v1/jobs/demo-shrouds").json().at("body").at("assemblies").at(0).at("pin_to_pin") ==
        "10 m");

  const auto withdraw = [&] {
    return rig.post("/api/v1/jobs/demo-shrouds/withdrawal", R"({"reason":"another rig"})", token);
  };
  CHECK(withdraw().json().at("job").at("reason") == "another rig");
  CHECK(withdraw().status == 404);
  CHECK(rig.get("/api/v1/jobs/demo-shrouds/sheet").status == 409);
  CHECK(rig.get("/api/v1/jobs/none").status == 404);
  std::vector<std::string> events;
  for (const auto& stored : rig.accounts.store.kept)
    if (stored.entry.kind == "job") events.push_back(stored.entry.event + " by " + stored.entry.actor);
  CHECK(events == std::vector<std::string>{"job_entered by plan-1", "job_changed by plan-1",
                                           "job_withdrawn by plan-1"});
}

TEST_CASE("every fault of a job is told at its place, and a job with faults is not kept") {
  const Rig rig;
  const auto token = rig.sign_in("plan-1");
  auto wrong = job();
  wrong["id"] = "Demo Shrouds";
  wrong["title"] = "two\nlines";
  wrong["cutting"].erase("tolerance");
  wrong["assemblies"][0]["quantity"] = 0;
  wrong["assemblies"][0]["pin_to_pin"] = 9.87;
  wrong["assemblies"][0]["ends"][1]["recipe"] = "demo-recipes";
  wrong["assemblies"][0]["ends"][0]["colour/of~it"] = "red";
  const auto answer = rig.post("/api/v1/jobs", wrong.dump(), token);
  CHECK(answer.status == 400);
  const auto faults = answer.json().at("faults");
  const auto found = places(faults);
  INFO(faults.dump(1));
  for (const char* place :
       {"/id", "/title", "/cutting/tolerance", "/assemblies/0/quantity", "/assemblies/0/pin_to_pin",
        "/assemblies/0/ends/1/recipe", "/assemblies/0/ends/0/colour~1of~0it"})
    CHECK(std::count(found.begin(), found.end(), place) == 1);
  CHECK(found.size() == 7);
  CHECK(faults.dump().find("the nearest is \\\"demo-recipe\\\"") != std::string::npos);
  CHECK(answer.json().at("problem") == faults.at(0));
  CHECK(rig.post("/api/v1/jobs/check", wrong.dump(), token).json().at("faults") == faults);
  CHECK(rig.post("/api/v1/jobs/check", "[]", token).json().at("faults").at(0).at("place") == "");
  CHECK(rig.post("/api/v1/jobs/check", "[", token).status == 400);
  CHECK(rig.get("/api/v1/jobs").json().at("jobs").empty());

  auto twice = job();
  twice["assemblies"].push_back(twice["assemblies"][0]);
  const auto same = rig.post("/api/v1/jobs/check", twice.dump(), token).json().at("faults").at(0);
  CHECK(same.at("place") == "/assemblies/1/mark");
  CHECK(same.at("expected") == "each mark once; it stands first at /assemblies/0/mark");
}

TEST_CASE("a job that must not be cut is refused with every reason, and not kept") {
  const Rig rig;
  const auto token = rig.sign_in("plan-1");
  auto strained = job();
  strained["assemblies"][0]["tension"] = "15 kN";
  const auto answer = rig.post("/api/v1/jobs", strained.dump(), token);
  CHECK(answer.status == 409);
  CHECK(answer.json().at("refusals").at(0).at("code") == "tension_too_high");
  CHECK(answer.json().at("refusals").at(0).at("place") == "/assemblies/0/tension");
  const auto checked = rig.post("/api/v1/jobs/check", strained.dump(), token).json();
  CHECK(checked.at("good") == false);
  CHECK(checked.at("plan").at("assemblies").empty());
  CHECK(rig.get("/api/v1/jobs").json().at("jobs").empty());
}

TEST_CASE("the cut sheet is a page of its own that may run and fetch nothing") {
  const Rig rig;
  const auto token = rig.sign_in("plan-1");
  auto hostile = job();
  hostile["title"] = "<script>alert(1)</script>";
  REQUIRE(rig.post("/api/v1/jobs", hostile.dump(), token).status == 201);
  const auto sheet = rig.get("/api/v1/jobs/demo-shrouds/sheet?unit=in");
  CHECK(sheet.status == 200);
  CHECK(sheet.header("content-type") == "text/html; charset=utf-8");
  CHECK(sheet.body.find("<script") == std::string::npos);
  CHECK(sheet.body.find("&lt;script") != std::string::npos);
  CHECK(sheet.header("content-security-policy").find("default-src 'none'") == 0);
  CHECK(sheet.header("content-security-policy").find("self") == std::string::npos);
  const auto table = rig.get("/api/v1/jobs/demo-shrouds/table.csv?table=bill");
  CHECK(table.header("content-type") == "text/csv; charset=utf-8");
  CHECK(table.body.find("demo-terminal") != std::string::npos);
  CHECK(rig.get("/api/v1/jobs/demo-shrouds/table.csv?table=parts").status == 400);
  CHECK(rig.get("/api/v1/jobs/demo-shrouds/sheet?unit=ell").status == 400);
}
