#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "client.hpp"

// Goal: what is quarantined, corrected, signed and sealed reaches the station as it was asked, by whom it was
// asked, and the answer shows the consequences.
using namespace shankwright;
using namespace shankwright::hmi_test;
using nlohmann::json;

TEST_CASE("the consequences of a quarantine are shown before it is confirmed") {
  const Rig rig;
  const auto token = rig.sign_in("rev-1");
  const auto shown =
      rig.post("/api/v1/quarantine", R"({"item":"rope_lot","id":"RL-1","preview":true})", token);
  CHECK(shown.status == 200);
  CHECK(shown.json() == json({{"preview", true},
                              {"held", {"S-0004", "S-0005"}},
                              {"released", {"S-0001", "S-0002", "S-0003"}},
                              {"refusals", json::array()}}));
  const auto done =
      rig.post("/api/v1/quarantine", R"({"item":"rope_lot","id":"RL-1","reason":"recalled"})", token);
  CHECK(done.json().at("preview") == false);
  const auto lifted =
      rig.post("/api/v1/quarantine/lift", R"({"item":"die_pair","id":"d","reason":"checked"})", token);
  CHECK(lifted.status == 200);
  const auto asked = rig.station.quarantines();
  REQUIRE(asked.size() == 3);
  CHECK(asked[0].first == "preview");
  CHECK(asked[1].first == "put");
  CHECK(asked[1].second.item == ports::Item::rope_lot);
  CHECK(asked[1].second.id == "RL-1");
  CHECK(asked[1].second.reason == "recalled");
  CHECK(asked[1].second.actor == "rev-1");
  CHECK(asked[2].first == "lift");
  CHECK(asked[2].second.item == ports::Item::die_pair);
}

TEST_CASE(
    "a quarantine that is refused, or that the disk refuses, says so; a body that is wrong says where") {
  const Rig rig;
  const auto token = rig.sign_in("rev-1");
  const auto post = [&](const char* body) { return rig.post("/api/v1/quarantine", body, token); };
  const auto refused = post(R"({"item":"gauge","id":"none","reason":"dropped"})");
  CHECK(refused.status == 409);
  CHECK(refused.json().at("refusals").at(0).at("code") == "item_unknown");
  CHECK(post(R"({"item":"gauge","id":"FAULTY","reason":"dropped"})").status == 503);
  const auto asked = rig.station.calls();
  CHECK(post(R"({"item":"lot","id":"a","reason":"b"})").json().at("problem").at("place") == "/item");
  CHECK(post(R"({"item":"gauge","id":"a"})").json().at("problem").at("place") == "/reason");
  CHECK(post(R"({"item":"gauge","id":"a","reason":"b","preview":"yes"})").json().at("problem").at("place") ==
        "/preview");
  CHECK(rig.post("/api/v1/quarantine/lift", R"({"item":"gauge","id":"a","reason":"b","preview":true})", token)
            .status == 400);
  CHECK(rig.station.calls() == asked);
}

TEST_CASE("anybody may see what is quarantined, and whether the shop register says so") {
  const Rig rig;
  const auto items = rig.call({.path = "/api/v1/quarantine"}).json().at("items");
  REQUIRE(items.size() == 2);
  CHECK(items[0].at("item") == "gauge");
  CHECK(items[0].at("by") == "rev");
  CHECK(items[0].at("at_utc") == "2031-05-01T11:06:40.123Z");
  CHECK(items[1].at("in_shop_file") == true);
  CHECK(items[1].at("at_utc").is_null());
}

TEST_CASE("a disposition without the PIN, or with a wrong one, does not reach the station") {
  const Rig rig;
  const auto token = rig.sign_in("rev-1");
  const auto dispose = [&](const std::string& body) {
    return rig.post("/api/v1/fittings/AT-hold/disposition", body, token);
  };
  CHECK(dispose(R"({"disposition":"scrap","reason":"bent"})").status == 403);
  CHECK(dispose(R"({"disposition":"scrap","reason":"bent","pin":"0000"})").status == 403);
  CHECK(rig.station.acts().empty());
  CHECK(dispose(R"({"disposition":"return_to_work","reason":"gauge was good","pin":"4711"})").status == 200);
  const auto act = rig.station.acts().back();
  CHECK(act.signed_with_pin);
  CHECK(std::get<procedure::Dispose>(act.event).disposition == procedure::Disposition::return_to_work);
  CHECK_FALSE(std::get<procedure::Dispose>(act.event).signed_with_pin);  // the station fills that in
}

TEST_CASE("a correction names its entry, its reason and who made it") {
  const Rig rig;
  const auto token = rig.sign_in("op-1");
  const auto correct = [&](const std::string& serial, const json& body) {
    return rig.post("/api/v1/fittings/" + serial + "/corrections", body.dump(), token);
  };
  CHECK(correct("AT-gauge", {{"of", 417}, {"text", "4.81 mm"}, {"reason", "figures swapped"}}).status == 201);
  const auto correction = rig.station.corrections().back();
  CHECK(correction.serial == "AT-gauge");
  CHECK(correction.of_sequence == 417);
  CHECK(correction.text == "4.81 mm");
  CHECK(correction.reason == "figures swapped");
  CHECK(correction.actor == "op-1");
  CHECK(correct("AT-gauge", {{"of", 404}, {"text", "a"}, {"reason", "b"}}).status == 409);
  CHECK(correct("S-9999", {{"of", 1}, {"text", "a"}, {"reason", "b"}}).status == 404);
  for (const json& of : {json(0), json(-1), json(1.5), json("417"), json(nullptr)})
    CHECK(
        correct("AT-gauge", {{"of", of}, {"text", "a"}, {"reason", "b"}}).json().at("problem").at("place") ==
        "/of");
}

TEST_CASE("whoever ends a shift is told to the station, which seals") {
  const Rig rig;
  CHECK(rig.post("/api/v1/shift/end", "", rig.sign_in("op-1")).status == 200);
  CHECK(rig.station.shifts_ended() == std::vector<std::string>{"op-1"});
}
