#include <catch2/catch.hpp>

#include "shop_floor.hpp"
#include "station/state_json.hpp"

using namespace shankwright;
using namespace shankwright::procedure;
using ports::Acceptance;
using tests::ShopFloor;

TEST_CASE("A fitting goes from admission to release, and the record has every step") {
  ShopFloor floor;
  floor.up_to_position();
  REQUIRE(floor.stage() == Stage::position);
  floor.both_passes();
  REQUIRE(floor.stage() == Stage::gauge);
  floor.gauge_well();
  REQUIRE(floor.act(Judge{}).acceptance == Acceptance::taken);
  REQUIRE(floor.stage() == Stage::accepted);
  REQUIRE(floor.act(Release{}).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::released);
  CHECK(floor.press.permits_sent() == 4);
  int bites = 0;
  const auto entries = floor.store.entries(floor.serial, true).value();
  for (const auto& one : entries)
    if (one.entry.event == "bite_finished") {
      ++bites;
      CHECK(one.entry.trace.size() > 100);
    }
  CHECK(bites == 4);
}

TEST_CASE("A recipe made for another press is refused, and the words say so") {
  ShopFloor floor;
  recipe::Press other = floor.library.presses.at("press");
  other.id = "other-press";
  floor.library.presses[other.id] = other;
  floor.shop.press_calibration_due_day[other.id] = 100'000;
  floor.library.recipes.at("recipe").press = other.id;
  const auto refused = floor.start();
  CHECK(refused.acceptance == ports::Acceptance::refused);
  REQUIRE(refused.findings.size() == 1);
  CHECK(refused.findings[0].code == procedure::Code::recipe_for_other_press);
}

TEST_CASE("The press hears of a permit only after the permit is in the record") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  bool in_record_when_sent = false;
  floor.press.when_sent = [&] {
    const auto entries = floor.store.entries(floor.serial, false).value();
    in_record_when_sent =
        entries.back().entry.event == "permit" && entries.back().entry.stage == "permit_recorded";
  };
  REQUIRE(floor.permit().acceptance == Acceptance::taken);
  CHECK(in_record_when_sent);
  CHECK(floor.press.permits_sent() == 1);
}

TEST_CASE("A permit that cannot be recorded is not given") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.store.broken = true;
  CHECK(floor.permit().acceptance == Acceptance::station_fault);
  CHECK(floor.press.permits_sent() == 0);
  CHECK(floor.stage() == Stage::position);
}

TEST_CASE("Evidence that grew old while the disk was busy gives no permit") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.store.on_append = [&] { floor.clock.pass_ms(400); };  // and no scan came meanwhile
  const auto result = floor.permit();
  CHECK(result.acceptance == Acceptance::refused);
  CHECK(result.findings.front().code == Code::evidence_aged_while_recording);
  CHECK(floor.press.permits_sent() == 0);
  CHECK(floor.stage() == Stage::position);
}

TEST_CASE("A guard opened while the disk was busy gives no permit") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.store.on_append = [&] {
    floor.press.now.status = static_cast<std::uint16_t>(floor.press.now.status & ~2U);
    floor.press.scan();
  };
  CHECK(floor.permit().acceptance == Acceptance::refused);
  CHECK(floor.press.permits_sent() == 0);
}

TEST_CASE("A bite that happened is kept until the record takes it, and nothing goes on before") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  REQUIRE(floor.permit().acceptance == Acceptance::taken);
  floor.store.broken = true;
  floor.press.play_bite(floor.sound_part(), 20000);
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::permit_given);  // nobody is told what is not in the record
  CHECK(floor.act(Position{15, {}, {}}, "caliper").acceptance != Acceptance::taken);
  CHECK_FALSE(floor.station->latest()->notices.empty());
  floor.store.broken = false;
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::position);
  const auto entries = floor.store.entries(floor.serial, true).value();
  CHECK(entries.back().entry.event == "bite_finished");
  CHECK(entries[entries.size() - 2].entry.event == "bite_started");
}

TEST_CASE("A link lost in a bite holds the fitting; it stays held when the link is back") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  floor.press.now.phase = 3;
  floor.press.now.permit_echo = floor.press.last_permit().token;
  floor.press.scan();
  floor.station->tick(0);
  REQUIRE(floor.stage() == Stage::biting);
  floor.press.now.link = ports::LinkState::lost;
  floor.press.scan();
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.held_for() == Code::link_lost_in_bite);
  floor.press.now.link = ports::LinkState::connected;
  floor.press.now.phase = 1;
  floor.press.scan();
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.dispose(Disposition::scrap).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::scrapped);
  CHECK(floor.start().acceptance == Acceptance::taken);  // and the next fitting can begin
}

TEST_CASE("A hole in the samples holds the fitting") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  floor.press.play_bite(floor.sound_part(), 20000, 0, 3);
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.held_for() == Code::trace_has_hole);
}

TEST_CASE("A hole told with a scan that is not yet trusted is a hole all the same") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  // The link was away for a moment before any motion; the first scan after it tells of a head nobody read.
  floor.press.now.permit_echo = floor.press.last_permit().token;
  floor.press.now.bite_number = 0;
  floor.press.begin_samples();
  floor.press.now.beat_moving = false;
  floor.press.scan({}, 40);
  floor.press.now.beat_moving = true;
  floor.press.play_bite(floor.sound_part(), 20000);
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.held_for() == Code::trace_has_hole);
}

TEST_CASE("Hands let go early may be tried again as often as the recipe says") {
  ShopFloor floor;
  floor.up_to_position();
  for (const Stage expected : {Stage::position, Stage::hold}) {
    floor.place_next();
    REQUIRE(floor.permit().acceptance == Acceptance::taken);
    floor.press.play_bite(floor.sound_part(), 20000, 3);
    floor.station->tick(0);
    CHECK(floor.stage() == expected);
    CHECK(floor.permit().acceptance == Acceptance::refused);  // faulted, and not placed
    floor.press.now.phase = 1;
    floor.press.now.fault_code = 0;
  }
  CHECK(floor.station->fitting(floor.serial)->state.standing.back().code == Code::repeats_used_up);
}

TEST_CASE("An empty shank is seen in the force") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  const auto sound = floor.sound_part();
  // The empty shank needs about two thirds of the force: finite-element cases tube_empty and tube_7x19.
  floor.press.play_bite([&](double gap) { return sound(gap) * 3273.0 / 4748.0; }, 20000);
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.held_for() == Code::force_below_envelope);
}

TEST_CASE("A press that closes unasked holds the open fitting") {
  ShopFloor floor;
  floor.up_to_position();
  floor.press.scan();
  floor.station->tick(0);
  floor.press.now.bite_number = 1;
  floor.press.scan();
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::hold);
  CHECK(floor.held_for() == Code::bite_without_permit);
}

TEST_CASE("A permit that did not reach the press is taken back by itself") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  floor.press.dropped = {{floor.press.last_permit().token, "link down", false}};
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::position);
}

TEST_CASE("A withdrawn permit leads back to the position once the press has confirmed it") {
  ShopFloor floor;
  floor.up_to_position();
  floor.place_next();
  floor.permit();
  REQUIRE(floor.act(Withdraw{}).acceptance == Acceptance::taken);
  CHECK(floor.press.sent.back().kind == ports::PressOrder::Kind::withdraw_permit);
  CHECK(floor.stage() == Stage::permit_given);
  floor.press.now.permit_echo = floor.press.last_permit().token;
  floor.press.now.permit_state = 4;
  floor.press.scan();
  floor.station->tick(0);
  CHECK(floor.stage() == Stage::position);
}

TEST_CASE("A fitting put aside leaves the press to another and comes back") {
  ShopFloor floor;
  floor.up_to_position();
  const std::string first = floor.serial;
  REQUIRE(floor.start().acceptance == Acceptance::refused);
  floor.serial = first;
  REQUIRE(floor.act(PutAside{}).acceptance == Acceptance::taken);
  REQUIRE(floor.start().acceptance == Acceptance::taken);
  const std::string second = floor.serial;
  floor.serial = first;
  CHECK(floor.act(Resume{}).findings.front().code == Code::another_fitting_open);
  floor.serial = second;
  floor.act(PutAside{});
  floor.serial = first;
  CHECK(floor.act(Resume{}).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::insert);  // the rope may have moved: proven again
}

TEST_CASE("Whenever the station dies, the next start says what it left and trusts nothing about it") {
  // Dies after each durable write of one fitting's life, in turn.
  for (std::size_t writes = 2;; ++writes) {
    ShopFloor floor;
    struct Died {};
    floor.store.on_append = [&, left = writes]() mutable {
      if (--left == 0) throw Died{};
    };
    bool died = false;
    try {
      floor.up_to_position();
      floor.both_passes();
      floor.gauge_well();
      floor.act(Judge{});
      floor.act(Release{});
    } catch (const Died&) {
      died = true;
    }
    if (!died) break;
    floor.store.on_append = nullptr;
    if (floor.store.rows.empty()) continue;
    floor.serial = floor.store.rows.begin()->first;
    const std::string before = floor.store.rows[floor.serial].stage;
    INFO("died at write " << writes << ", in stage " << before);
    REQUIRE(floor.open().ok());
    const bool pressing = before == "permit_recorded" || before == "permit_given" || before == "biting";
    if (pressing) {
      CHECK(floor.stage() == Stage::hold);
      CHECK(floor.held_for() == Code::bite_interrupted_by_restart);
      CHECK(floor.station->latest()->notices.front().find("interrupted") != std::string::npos);
    } else if (before == "accepted") {
      CHECK(floor.stage() == Stage::accepted);
    } else {
      CHECK(floor.stage() == Stage::aside);
    }
  }
}

TEST_CASE("A state keeps every value through the record") {
  ShopFloor floor;
  floor.up_to_position();
  floor.both_passes();
  floor.gauge_well();
  const auto entries = floor.store.entries(floor.serial, false).value();
  for (const auto& one : entries) {
    const auto state = station::state_from_json(one.entry.state_json);
    INFO(one.entry.event << " " << one.entry.state_json);
    REQUIRE(state.ok());
    CHECK(station::to_json(state.value()) == one.entry.state_json);
  }
  CHECK(station::state_from_json(floor.store.rows[floor.serial].state_json).value() ==
        floor.station->fitting(floor.serial)->state);
  CHECK_FALSE(station::state_from_json("{\"stage\":\"somewhere\"}").ok());
  CHECK_FALSE(station::state_from_json("not json").ok());
}
