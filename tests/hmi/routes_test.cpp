#include <catch2/catch.hpp>

#include "client.hpp"
#include "review/dossier.hpp"
#include "wording/wording.hpp"

// Every route that there is, asked as openapi.yaml says, does what it says and asks the station for the right
// thing.
using namespace shankwright;
using namespace shankwright::hmi_test;
using Kind = ports::PressOrder::Kind;

TEST_CASE("a person of the register signs in, is known by cookie and by token, and signs out") {
  const Rig rig;
  const auto answer = rig.post("/api/v1/session", sign_in_body("all-1"), "");
  REQUIRE(answer.status == 200);
  const auto token = answer.json().at("token").get<std::string>();
  CHECK(token.size() == 64);
  CHECK(answer.json().at("person") ==
        nlohmann::json{{"id", "all-1"},
                       {"name", "Demo Everybody"},
                       {"roles", {"operator", "technician", "planner", "reviewer"}}});
  CHECK(answer.header("set-cookie") ==
        "shankwright_session=" + token + "; Path=/; HttpOnly; SameSite=Strict");
  CHECK(answer.header("cache-control") == "no-store");

  const auto by_token = rig.call({.path = "/api/v1/session", .token = token});
  CHECK(by_token.status == 200);
  CHECK(by_token.json().at("person").at("id") == "all-1");
  const auto by_cookie =
      rig.call({.path = "/api/v1/session",
                .more_headers = "Cookie: other=1; shankwright_session=" + token + "; more=2\r\n"});
  CHECK(by_cookie.json() == by_token.json());

  const auto out = rig.call({.method = "DELETE", .path = "/api/v1/session", .token = token});
  CHECK(out.status == 200);
  CHECK(out.header("set-cookie").find("Max-Age=0") != std::string::npos);
  CHECK(rig.call({.path = "/api/v1/session", .token = token}).status == 401);
}

TEST_CASE("a session unused for a shift has ended") {
  Rig rig;
  const auto token = rig.sign_in("op-1");
  constexpr std::int64_t hour_us = 3'600'000'000;
  rig.clock.monotonic += 11 * hour_us;
  CHECK(rig.call({.path = "/api/v1/session", .token = token}).status == 200);  // and is alive again from here
  rig.clock.monotonic += 5 * hour_us;
  CHECK(rig.call({.path = "/api/v1/session", .token = token}).status == 200);
  rig.clock.monotonic += 1;  // sixteen hours after it began it has ended, however busy
  CHECK(rig.call({.path = "/api/v1/session", .token = token}).status == 401);
  const auto idle = rig.sign_in("op-1");
  rig.clock.monotonic += 12 * hour_us + 1;
  CHECK(rig.call({.path = "/api/v1/session", .token = idle}).status == 401);
}

TEST_CASE("the station is told whole, with the press, the fitting at it and what waits") {
  const Rig rig;
  const auto answer = rig.get("/api/v1/station");
  REQUIRE(answer.status == 200);
  CHECK(answer.header("content-type") == "application/json");
  const auto station = answer.json();
  CHECK(station.at("name") == "Demo shop (demo data)");
  CHECK(station.at("cautions").at(0).get<std::string>().find("not a safety function") != std::string::npos);
  CHECK(station.at("at_utc") == "2031-05-02T14:53:20.000Z");
  CHECK(station.at("set_aside") == nlohmann::json{"AT-aside"});
  CHECK(station.at("held") == nlohmann::json{"AT-hold"});
  CHECK(station.at("snapshot_version") == 1);
  const auto& press = station.at("press");
  CHECK(press.at("link") == "connected");
  CHECK(press.at("phase") == "open");
  CHECK(press.at("emergency_circuit_healthy") == true);
  CHECK(press.at("guard_closed") == true);
  CHECK(press.at("both_hands_on") == false);
  CHECK(press.at("dies_home") == true);
  CHECK(press.at("shank_present") == true);
  CHECK(press.at("mark_seen") == false);
  CHECK(press.at("remote_selected") == true);
  CHECK(press.at("mark_sensor_fitted") == false);
  CHECK(press.at("angle_encoder_fitted") == true);
  CHECK(press.at("position_sensor_fitted") == true);
  CHECK(press.at("gap_mm").is_null());  // 65.535: beyond range
  CHECK(press.at("least_gap_mm") == 0.031);
  CHECK(press.at("force_kn") == 250.8);  // 12.54 MPa on 20000 mm2
  CHECK(press.at("permit_state") == "none");
  CHECK(station.at("active").at("serial") == "AT-position");
  CHECK(station.at("active").at("next").at("code") == "set_position");
}

TEST_CASE("the library is told with lots, gauges, people and the faults of its files") {
  const Rig rig;
  const auto library = rig.get("/api/v1/library").json();
  CHECK(library.at("recipes").at(0).at("id") == "demo-recipe");
  CHECK(library.at("recipes").at(0).at("status") == "released");
  CHECK(library.at("terminal_lots").at(0).at("quarantined") == true);
  CHECK(library.at("people").size() == 6);
  CHECK(library.at("people").at(0) ==
        nlohmann::json{{"id", "admin-1"}, {"name", "Demo Administrator"}, {"roles", {"administrator"}}});
  CHECK(library.at("faults").at(0).at("place") == "recipes/bad.yaml:3:7");
  const auto& gauges = library.at("gauges");
  REQUIRE(gauges.size() == 4);
  CHECK(gauges.at(0) == nlohmann::json{{"id", "caliper-1"},
                                       {"kind", "caliper"},
                                       {"size_mm", nullptr},
                                       {"calibration_due", "2031-05-02"},
                                       {"in_date", true}});
  CHECK(gauges.at(1).at("calibration_due").is_null());  // a gauge the shop does not know is in no date
  CHECK(gauges.at(1).at("in_date") == false);
  CHECK(gauges.at(2) == nlohmann::json{{"id", "go-1"},
                                       {"kind", "go_gap"},
                                       {"size_mm", 8.0},
                                       {"calibration_due", "2031-05-01"},
                                       {"in_date", false}});
}

TEST_CASE("a fitting is started in the name of the person signed in") {
  const Rig rig;
  const auto token = rig.sign_in("op-1");
  const auto answer = rig.post(
      "/api/v1/fittings",
      R"({"recipe":"demo-recipe","job":"job 7","rope_lot":"rope-lot-1","terminal_lot":"terminal-lot-1"})",
      token);
  REQUIRE(answer.status == 201);
  CHECK(answer.json().at("fitting").at("serial") == "AT-measure");
  REQUIRE(rig.station.starts().size() == 1);
  const auto start = rig.station.starts().front();
  CHECK(start.recipe_id == "demo-recipe");
  CHECK(start.job == "job 7");
  CHECK(start.rope_lot == "rope-lot-1");
  CHECK(start.terminal_lot == "terminal-lot-1");
  CHECK(start.operator_id == "op-1");

  const auto refused = rig.post(
      "/api/v1/fittings",
      R"({"recipe":"withdrawn","job":"job 7","rope_lot":"rope-lot-1","terminal_lot":"terminal-lot-1"})",
      token);
  CHECK(refused.status == 409);
  CHECK(refused.json().at("refusals").at(0).at("code") == "recipe_not_released");
  CHECK(refused.json().at("fitting").is_null());
}

TEST_CASE("a fitting is told with its evidence, limits, drawing and what is next") {
  const Rig rig;
  for (int i = 1; i <= static_cast<int>(procedure::Stage::aside); ++i) {
    const std::string stage(wording::name_of(static_cast<procedure::Stage>(i)));
    const auto answer = rig.get("/api/v1/fittings/AT-" + stage);
    REQUIRE(answer.status == 200);
    CHECK(answer.json().at("fitting").at("stage") == stage);
    CHECK_FALSE(answer.json().at("fitting").at("next").at("code").get<std::string>().empty());
  }
  const auto measure = rig.get("/api/v1/fittings/AT-measure").json().at("fitting");
  CHECK_FALSE(measure.at("evidence").contains("rope_diameter_mm"));
  CHECK(measure.at("envelope").at(0) ==
        nlohmann::json{{"gap_mm", 0.5}, {"least_kn", 80.0}, {"most_kn", 140.0}});
  const auto gauged = rig.get("/api/v1/fittings/AT-gauge").json().at("fitting");
  CHECK(gauged.at("started_utc") == "2031-05-01T11:06:40.123Z");
  CHECK(gauged.at("evidence").at("go") == "passes");
  CHECK(gauged.at("evidence").at("growth").get<double>() == Approx((57.6 - 52.0) / 48));
  CHECK(gauged.at("evidence").at("slip_mm").get<double>() == Approx(-5.0 - 0.4 + 5.6));
  CHECK(gauged.at("envelope").size() == 2);
  CHECK(gauged.at("limits").at("insertion_tolerance_mm") == 0.8);
  CHECK(gauged.at("drawing").at("construction") == "7x19");
  CHECK(rig.get("/api/v1/fittings/AT-nowhere").status == 404);
}

TEST_CASE("fittings are found page by page, by every parameter") {
  Rig rig;
  const auto first = rig.get("/api/v1/fittings?limit=2").json();
  CHECK(first.at("fittings").size() == 2);
  CHECK(first.at("next_after") == "S-0002");
  const auto last = rig.get("/api/v1/fittings?limit=2&after=S-0003").json();
  CHECK(last.at("fittings").at(0).at("serial") == "S-0004");
  CHECK(last.at("next_after").is_null());
  CHECK(rig.get("/api/v1/fittings").json().at("fittings").size() == 5);
  CHECK(rig.get("/api/v1/fittings?after=nowhere").status == 400);

  CHECK(rig.get("/api/v1/"
                "fittings?from=2031-05-02&until=2031-05-02&verdict=re-pressed&recipe=a&job=b%20c&operator=d&"
                "rope_lot=e"
                "&terminal_lot=f&die_pair=g&gauge=h&finding=i&text=j%20k&serial_prefix=S-&limit=1000&after=S-"
                "0001")
            .status == 200);
  const auto filter = rig.record.last_filter();
  CHECK(filter.from_utc_us == 22401 * 86'400'000'000);
  CHECK(filter.until_utc_us == 22402 * 86'400'000'000);  // the last day is included
  CHECK(filter.verdict == "re-pressed");
  CHECK(filter.recipe_id == "a");
  CHECK(filter.job == "b c");
  CHECK(filter.operator_id == "d");
  CHECK(filter.rope_lot == "e");
  CHECK(filter.terminal_lot == "f");
  CHECK(filter.die_pair_id == "g");
  CHECK(filter.gauge_id == "h");
  CHECK(filter.finding_code == "i");
  CHECK(filter.text == "j k");
  CHECK(filter.serial_prefix == "S-");
  CHECK(filter.limit == 1001);
  CHECK(filter.after_serial == "S-0001");

  rig.record.broken = true;
  CHECK(rig.get("/api/v1/fittings").status == 503);
}

TEST_CASE("the dossier is the one that trace prints") {
  Rig rig;
  const auto answer = rig.get("/api/v1/fittings/S-0001/dossier");
  REQUIRE(answer.status == 200);
  CHECK(answer.body == review::dossier_json(rig.record, "S-0001").value());
  CHECK(answer.json().at("bites").at(0).at("rows").size() == 20);
  CHECK(rig.get("/api/v1/fittings/S-9999/dossier").status == 404);
  rig.record.broken = true;
  CHECK(rig.get("/api/v1/fittings/S-0001/dossier").status == 503);
}

TEST_CASE("papers are files by their type, and refused in words where there is nothing to say") {
  Rig rig;
  const auto certificate = rig.get("/api/v1/fittings/S-0001/certificate");
  REQUIRE(certificate.status == 200);
  CHECK(certificate.body.starts_with("%PDF-1."));
  const auto pages = rig.get("/api/v1/fittings/S-0001/dossier.pdf?units=inch&paper=letter");
  REQUIRE(pages.status == 200);
  CHECK(pages.body.starts_with("%PDF-1."));
  const auto label = rig.get("/api/v1/fittings/S-0001/label.svg?size=40mmx20mm");
  REQUIRE(label.status == 200);
  CHECK(label.body.starts_with("<svg"));
  CHECK(label.body.find("width=\"40.000mm\"") != std::string::npos);
  CHECK(rig.get("/api/v1/fittings/S-0002/certificate").status == 409);  // no seal covers it
  for (const char* wrong : {"?units=feet", "?paper=a0", "?size=1mmx1mm", "?colour=red"})
    CHECK(rig.get(std::string("/api/v1/fittings/S-0001/label.svg") + wrong).status == 400);
  for (const char* paper : {"certificate", "dossier.pdf", "label.svg"})
    CHECK(rig.get(std::string("/api/v1/fittings/S-9999/") + paper).status == 404);
  rig.record.broken = true;
  for (const char* paper : {"certificate", "dossier.pdf", "label.svg"})
    CHECK(rig.get(std::string("/api/v1/fittings/S-0001/") + paper).status == 503);
}

TEST_CASE("each act reaches the station as its own event, for its serial, in the name of who asked") {
  const Rig rig;
  const auto token = rig.sign_in("all-1");
  const std::vector<std::pair<std::string, std::string>> acts = {
      {"permit", "permit"},   {"judge", "judge"},   {"release", "release"},
      {"aside", "put_aside"}, {"resume", "resume"}, {"hold", "hold"}};
  for (const auto& [path, event] : acts) {
    for (const std::string body : {"", "{}"}) {
      const auto answer = rig.post("/api/v1/fittings/AT-gauge/" + path, body, token);
      INFO(path);
      CHECK(answer.status == 200);
      CHECK(answer.json().at("findings").at(0).at("code") == "bent");
      const auto act = rig.station.acts().back();
      CHECK(act.serial == "AT-gauge");
      CHECK(act.actor == "all-1");
      CHECK(wording::event_name(act.event) == event);
    }
  }
  CHECK(rig.call({.method = "DELETE", .path = "/api/v1/fittings/AT-permit_given/permit", .token = token})
            .status == 200);
  CHECK(wording::event_name(rig.station.acts().back().event) == "withdraw");

  CHECK(rig.post("/api/v1/fittings/AT-hold/disposition",
                 R"({"disposition":"use_as_is","reason":"second look\nis fine","pin":"4711"})", token)
            .status == 200);
  const auto act = rig.station.acts().back();
  CHECK(act.reason == "second look\nis fine");
  const auto dispose = std::get<procedure::Dispose>(act.event);
  CHECK(dispose.disposition == procedure::Disposition::use_as_is);
  CHECK(dispose.reason_given);
  CHECK_FALSE(dispose.reviewer);  // the station judges that, not the client
  CHECK(act.signed_with_pin);

  CHECK(rig.post("/api/v1/fittings/AT-hold/disposition",
                 R"({"disposition":"scrap","reason":"  ","pin":"4711"})", token)
            .status == 200);
  CHECK_FALSE(std::get<procedure::Dispose>(rig.station.acts().back().event).reason_given);
}

TEST_CASE("refused, unknown and faulty acts come back as 409, 404 and 503") {
  const Rig rig;
  const auto token = rig.sign_in("op-1");
  const auto refused = rig.post("/api/v1/fittings/REFUSES/permit", "", token);
  CHECK(refused.status == 409);
  CHECK(refused.json().at("refusals").size() == every_finding().size());
  CHECK(refused.json().at("refusals").at(0).at("found").is_null());  // infinite
  CHECK(refused.json().at("fitting").at("serial") == "AT-position");
  const auto refusals = refused.json().at("refusals");
  for (const auto& finding : refusals) CHECK_FALSE(finding.at("what").get<std::string>().empty());

  const auto unknown = rig.post("/api/v1/fittings/S-9999/permit", "", token);
  CHECK(unknown.status == 404);
  CHECK(unknown.json().at("problem").at("found") == "S-9999");

  const auto faulty = rig.post("/api/v1/fittings/FAULTY/permit", "", token);
  CHECK(faulty.status == 503);
  CHECK(faulty.json().at("problem").at("found") == "no space left on the device");
}

TEST_CASE("orders to the press are passed on, and refusals and faults come back") {
  Rig rig;
  const auto token = rig.sign_in("tech-1");
  const std::vector<std::pair<std::string, Kind>> orders = {{"open-dies", Kind::open_dies},
                                                            {"clear-fault", Kind::clear_fault},
                                                            {"zero-pressure", Kind::zero_pressure}};
  for (const auto& [path, kind] : orders) {
    const auto answer = rig.post("/api/v1/press/" + path, "", token);
    CHECK(answer.status == 200);
    CHECK(answer.json() == nlohmann::json{{"fitting", nullptr}, {"findings", nlohmann::json::array()}});
    CHECK(rig.station.orders().back() == std::pair{kind, std::string("tech-1")});
  }
  rig.station.order_answer = ports::Acceptance::refused;
  CHECK(rig.post("/api/v1/press/open-dies", "", token).status == 409);
  rig.station.order_answer = ports::Acceptance::station_fault;
  CHECK(rig.post("/api/v1/press/open-dies", "", token).status == 503);
}

TEST_CASE("the page and the description are served, packed and plain") {
  const Rig rig;
  const auto plain = rig.get("/");
  REQUIRE(plain.status == 200);
  CHECK(plain.header("content-type") == "text/html; charset=utf-8");
  CHECK(plain.body.find("<html") != std::string::npos);
  CHECK(plain.header("cache-control") == "no-cache");
  const auto packed = rig.call({.path = "/", .more_headers = "Accept-Encoding: gzip, br\r\n"});
  CHECK(packed.header("content-encoding") == "gzip");
  CHECK(packed.headers.count("content-encoding") == 1);
  CHECK(packed.body.substr(0, 2) == "\x1f\x8b");
  const auto head = rig.call({.method = "HEAD", .path = "/"});
  CHECK(head.status == 200);
  CHECK(rig.get("/assets/none.js").status == 404);

  // Whatever the page's first file names is there too.
  const auto at = plain.body.find("/assets/");
  REQUIRE(at != std::string::npos);
  const auto asset = rig.get(plain.body.substr(at, plain.body.find('"', at) - at));
  CHECK(asset.status == 200);
  CHECK(asset.header("cache-control") == "public, max-age=31536000, immutable");

  for (const std::string path : {"/openapi.yaml", "/api/v1/openapi.yaml"}) {
    const auto description = rig.get(path);
    CHECK(description.header("content-type") == "application/yaml; charset=utf-8");
    CHECK(description.body.starts_with("openapi: 3.1"));
  }
}

TEST_CASE("every answer carries the headers that keep the page to itself") {
  const Rig rig;
  for (const std::string path : {"/", "/api/v1/station", "/api/v1/nowhere", "/openapi.yaml", "/%0a"}) {
    const auto answer = rig.get(path);
    INFO(path);
    CHECK(
        answer.header("content-security-policy") ==
        "default-src 'self'; base-uri 'none'; object-src 'none'; form-action 'self'; frame-ancestors 'none'");
    CHECK(answer.header("x-content-type-options") == "nosniff");
    CHECK(answer.header("referrer-policy") == "no-referrer");
    CHECK_FALSE(answer.header("cache-control").empty());
    CHECK(answer.header("access-control-allow-origin").empty());
  }
}
