#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "shop_floor.hpp"
#include "wording/wording.hpp"

// Goal: who signed, what the shop's register said, what was set right, when the record was sealed, and
// whether it has room: all of it stands in the record, and nothing goes on without it.
using namespace shankwright;
using namespace shankwright::procedure;
using nlohmann::json;
using ports::Acceptance;
using tests::ShopFloor;

namespace {

struct TwoReviewers : ShopFloor {
  TwoReviewers() {
    library.recipes.at("recipe").two_person_disposition = true;
    if (auto opened = open(); !opened) throw std::runtime_error(opened.problem().text());
    up_to_position();
    act(HoldByOperator{});
  }
};

json body_of(const ShopFloor& floor, const std::string& event) {
  for (auto one = floor.store.kept.rbegin(); one != floor.store.kept.rend(); ++one)
    if (one->entry.event == event) return json::parse(one->entry.body_json);
  return {};
}

Code first_of(const ports::ActResult& result) {
  return result.findings.empty() ? Code::none : result.findings.front().code;
}

}  // namespace

TEST_CASE("A disposition is signed, with a reason, by a reviewer") {
  ShopFloor floor;
  floor.up_to_position();
  floor.act(HoldByOperator{});
  CHECK(first_of(floor.act(Dispose{Disposition::scrap}, "", "rev", "bent", false)) == Code::signature_needed);
  CHECK(first_of(floor.act(Dispose{Disposition::scrap}, "", "rev", "", true)) == Code::reason_needed);
  CHECK(first_of(floor.act(Dispose{Disposition::scrap}, "", "ada", "bent", true)) == Code::reviewer_needed);
  CHECK(floor.stage() == Stage::hold);
  Dispose forged{Disposition::scrap, true, true, true, false, true};  // flags from outside count for nothing
  CHECK(first_of(floor.act(forged, "", "rev", "bent", false)) == Code::signature_needed);
  REQUIRE(floor.act(Dispose{Disposition::scrap}, "", "rev", "bent", true).acceptance == Acceptance::taken);
  const json body = body_of(floor, "dispose");
  CHECK(body["signed"] == true);
  CHECK(body["reason"] == "bent");
}

TEST_CASE("Where two reviewers are asked for, the first only proposes") {
  TwoReviewers floor;
  REQUIRE(floor.dispose(Disposition::scrap, "rev").acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.station->fitting(floor.serial)->proposed_by == "rev");
  CHECK(floor.store.kept.back().entry.kind == "evidence");
  CHECK(body_of(floor, "dispose")["event"]["proposed"] == true);
  CHECK(first_of(floor.dispose(Disposition::scrap, "rev")) == Code::second_person_needed);
  SECTION("another who agrees decides") {
    REQUIRE(floor.dispose(Disposition::scrap, "sue").acceptance == Acceptance::taken);
    CHECK(floor.stage() == Stage::scrapped);
    CHECK_FALSE(body_of(floor, "dispose")["event"].contains("proposed"));
  }
  SECTION("another who differs proposes anew") {
    floor.dispose(Disposition::return_to_work, "sue");
    CHECK(floor.stage() == Stage::hold);
    CHECK(floor.station->fitting(floor.serial)->proposed_by == "sue");
    CHECK(first_of(floor.dispose(Disposition::return_to_work, "sue")) == Code::second_person_needed);
    floor.dispose(Disposition::return_to_work, "rev");
    CHECK(floor.stage() == Stage::aside);
  }
  SECTION("the proposal and whose it is outlive the process") {
    REQUIRE(floor.open().ok());
    CHECK(floor.station->fitting(floor.serial)->proposed_by == "rev");
    CHECK(first_of(floor.dispose(Disposition::scrap, "rev")) == Code::second_person_needed);
    CHECK(floor.dispose(Disposition::scrap, "sue").acceptance == Acceptance::taken);
  }
  SECTION("news voids it") {
    (void)floor.station->quarantine({ports::Item::rope_lot, "R1", "recalled", "rev"});
    floor.dispose(Disposition::scrap, "sue");
    CHECK(floor.stage() == Stage::hold);
    floor.dispose(Disposition::scrap, "rev");
    CHECK(floor.stage() == Stage::scrapped);
  }
}

TEST_CASE("The admission keeps what the shop's register said on that day") {
  ShopFloor floor;
  floor.store.strokes = 17;
  floor.shop.die_pairs["dies"].strokes_at_register = 100;
  floor.start();
  const json seen = body_of(floor, "admit")["register"];
  // 100 000 days after 1970-01-01: 2243-10-17, by `date -u -d "1970-01-01 +100000 days"` (GNU coreutils).
  CHECK(seen == json({{"operator", {{"id", "ada"}, {"name", "Ada"}, {"qualified_until", "2243-10-17"}}},
                      {"die_pair",
                       {{"id", "dies"},
                        {"serial", "D-1"},
                        {"strokes", 117},
                        {"life_strokes", 1000},
                        {"inspection_due", "2243-10-17"}}},
                      {"press", {{"id", "press"}, {"calibration_due", "2243-10-17"}}},
                      {"rope_lot", {{"id", "R1"}, {"certificate", "certificate of R1"}}},
                      {"terminal_lot", {{"id", "T1"}, {"certificate", ""}}}}));
  floor.act(RopeDiameter{{4.8, 4.81}, {}}, "caliper");
  CHECK(body_of(floor, "rope_diameter")["gauge_calibration_due"] == "2243-10-17");
}

TEST_CASE("The record is sealed at the start, at every release, at the end of a shift and at the stop") {
  ShopFloor floor;
  const auto reasons = [&] {
    std::vector<std::string> out;
    for (const auto& seal : floor.store.seals) out.push_back(seal.why);
    return out;
  };
  floor.up_to_position();
  floor.both_passes();
  floor.gauge_well();
  floor.act(Judge{});
  CHECK(reasons() == std::vector<std::string>{"start"});
  floor.act(Release{});
  CHECK(floor.station->end_shift("nobody").acceptance == Acceptance::refused);
  REQUIRE(floor.station->end_shift("ada").acceptance == Acceptance::taken);
  floor.up_to_position();
  floor.act(HoldByOperator{});
  floor.dispose(Disposition::use_as_is);
  floor.station->stop();
  CHECK(reasons() == std::vector<std::string>{"start", "release", "shift_end", "release", "stop"});
}

TEST_CASE(
    "Control changes hands on record, by an operator or technician, and never under a permit or a bite") {
  ShopFloor floor;
  floor.up_to_position();
  const auto take = [&](const std::string& actor) {
    return floor.station->take_over_control({actor, "ada", 1'000'000});
  };
  CHECK(first_of(take("rev")) == Code::not_owner_of_step);
  CHECK(first_of(take("nobody")) == Code::not_owner_of_step);
  REQUIRE(take("tec").acceptance == Acceptance::taken);
  const auto kept = floor.store.kept.back().entry;
  CHECK(kept.kind == "station");
  CHECK(kept.event == "control_taken_over");
  CHECK(kept.actor == "tec");
  CHECK(json::parse(kept.body_json) ==
        json({{"from", "ada"}, {"held_since_utc_us", 1'000'000}, {"fitting", floor.serial}}));

  floor.place_next();
  REQUIRE(floor.permit().acceptance == Acceptance::taken);
  const auto entries = floor.store.kept.size();
  CHECK(first_of(take("tec")) == Code::bite_under_way);
  CHECK(floor.store.kept.size() == entries);
  floor.act(Withdraw{});
}

TEST_CASE("Whoever is signed in may withdraw a permit, open the dies and put on hold; nobody else may") {
  ShopFloor floor;
  floor.up_to_position();
  const auto by = [&](const std::string& actor, procedure::Event event) {
    ports::Act act;
    act.serial = floor.serial;
    act.event = std::move(event);
    act.actor = actor;
    return floor.station->act(act);
  };
  floor.place_next();
  REQUIRE(floor.permit().acceptance == Acceptance::taken);
  CHECK(first_of(by("nobody", Withdraw{})) == Code::not_owner_of_step);
  CHECK(by("rev", Withdraw{}).acceptance == Acceptance::taken);
  CHECK(first_of(by("rev", RequestPermit{})) == Code::not_owner_of_step);
  CHECK(floor.station->press_order(ports::PressOrder::Kind::open_dies, "rev").acceptance ==
        Acceptance::taken);
  CHECK(first_of(floor.station->press_order(ports::PressOrder::Kind::open_dies, "nobody")) ==
        Code::not_owner_of_step);
  CHECK(first_of(floor.station->press_order(ports::PressOrder::Kind::clear_fault, "rev")) ==
        Code::not_owner_of_step);
  floor.press.now.permit_echo = floor.press.last_permit().token;
  floor.press.now.permit_state = 4;  // withdrawn
  floor.press.scan();
  floor.station->tick(0);
  CHECK(by("rev", HoldByOperator{}).acceptance == Acceptance::taken);
}

TEST_CASE("A correction stands beside the entry it is about and changes nothing") {
  ShopFloor floor;
  floor.up_to_position();
  const auto entry = floor.store.entries(floor.serial, false).value()[1];
  REQUIRE(entry.entry.event == "rope_diameter");
  const auto state = floor.store.rows[floor.serial].state_json;
  const auto correct = [&](std::int64_t of, const std::string& actor, const std::string& text = "4.81 mm") {
    return floor.station->correct({floor.serial, of, text, "written down wrongly", actor});
  };
  CHECK(first_of(correct(entry.sequence, "tec")) == Code::not_owner_of_step);
  CHECK(first_of(correct(1, "rev")) == Code::no_such_entry);  // the station's own
  CHECK(first_of(correct(entry.sequence, "ada", "")) == Code::reason_needed);
  CHECK(floor.station->correct({"T-9", 2, "a", "b", "rev"}).acceptance == Acceptance::unknown_serial);
  REQUIRE(correct(entry.sequence, "ada").acceptance == Acceptance::taken);  // her own entry
  REQUIRE(correct(entry.sequence, "rev").acceptance == Acceptance::taken);
  const auto& kept = floor.store.kept.back().entry;
  CHECK(kept.kind == "correction");
  CHECK(kept.event == "corrected");
  CHECK(kept.serial == floor.serial);
  CHECK(kept.state_json.empty());
  CHECK(kept.stage.empty());
  CHECK(json::parse(kept.body_json) ==
        json({{"of", entry.sequence}, {"text", "4.81 mm"}, {"reason", "written down wrongly"}}));
  CHECK(floor.store.rows[floor.serial].state_json == state);
  CHECK(floor.stage() == Stage::position);
}

TEST_CASE("A disk that is nearly full begins no fitting and no bite, and loses nothing") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.store.free = 63'999'999;
  const auto refused = floor.permit();
  CHECK(refused.acceptance == Acceptance::refused);
  CHECK(refused.findings == std::vector<Finding>{{Code::record_nearly_full}});
  CHECK(wording::describe(refused.findings.front()).what_to_do.find("Free space") == 0);
  CHECK(floor.press.permits_sent() == 0);
  CHECK(floor.store.kept.back().entry.kind == "refused");  // the refusal is on record
  CHECK(floor.stage() == Stage::position);
  floor.store.free = 64'000'000;
  CHECK(floor.permit().acceptance == Acceptance::taken);
  floor.press.play_bite(floor.sound_part(), 20000);
  floor.station->tick(0);
  floor.act(PutAside{});
  floor.store.free = 255'999'999;
  CHECK(floor.start().findings == std::vector<Finding>{{Code::record_nearly_full}});
  floor.store.free = 256'000'000;
  CHECK(floor.start().acceptance == Acceptance::taken);
}
