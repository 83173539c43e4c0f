// Stories and edges of the press node's logic, against the page that defines the press map, version 1. The
// expected numbers are the page's; where the page is silent, simulators/README.md says what was chosen and
// the test follows it.
#include <catch2/catch.hpp>
#include <cmath>

#include "node_rig.hpp"

using namespace shankwright::node;
using namespace shankwright::node::testing;

namespace {

/// A rig with a permit taken, hands off.
Rig permitted(const PermitWords& words = {}, const NodeSettings& settings = {}) {
  Rig rig(settings);
  rig.cycle();
  REQUIRE(rig.order(Order::permit_one_bite, words));
  REQUIRE(rig.logic.phase() == Phase::permitted);
  return rig;
}

Rig in_phase(Phase phase, const PermitWords& words = {}) {
  Rig rig = permitted(words);
  rig.at.both_hands_on = true;
  REQUIRE(rig.run_until(phase));
  return rig;
}

}  // namespace

TEST_CASE("A permitted press under both hands makes one bite and uses the permit up", "[node][logic]") {
  Rig rig = permitted();
  CHECK(rig.reg(input::permit_state) == 1);
  CHECK(rig.reg(input::permit_echo) == rig.token);
  rig.at.both_hands_on = true;
  REQUIRE(rig.run_until(Phase::closing));
  CHECK(rig.reg(input::bite_number) == 0);
  CHECK(rig.reg(input::sample_bite) == 1);
  REQUIRE(rig.run_until(Phase::holding));
  REQUIRE(rig.run_until(Phase::opening));
  CHECK(rig.reg(input::permit_state) == 1);
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::permit_state) == 3);
  CHECK(rig.reg(input::bite_number) == 1);
  CHECK(rig.reg(input::stroke_total + 1) == 1);
  CHECK(rig.reg(input::fault_code) == 0);
  CHECK(rig.reg(input::peak_pressure) >= 5000);
  CHECK(rig.reg(input::peak_pressure) <= 5040);
  CHECK(rig.reg(input::least_gap) == 0);
  CHECK(rig.reg(input::dwell_done) >= 100);
  rig.run_ms(2000);
  CHECK(rig.logic.phase() == Phase::open);  // one permit, one bite, though the hands are still on
  CHECK(rig.reg(input::bite_number) == 1);
}

TEST_CASE("The node beat counts node cycles and wraps", "[node][logic]") {
  Rig rig;
  for (int i = 1; i <= 65536 + 3; ++i) {
    rig.logic.cycle();
    if (rig.reg(input::node_beat) != static_cast<std::uint16_t>(i))
      FAIL("beat " << rig.reg(input::node_beat));
  }
  CHECK(rig.reg(input::node_beat) == 3);
}

TEST_CASE("Each reason to refuse a permit has its own code and leaves nothing permitted", "[node][logic]") {
  struct Case {
    Refusal expected;
    void (*spoil)(Rig&, PermitWords&);
  };
  const Case cases[] = {
      {Refusal::not_open, [](Rig& rig, PermitWords&) { rig.at.pump_running = false; }},
      {Refusal::emergency_circuit, [](Rig& rig, PermitWords&) { rig.at.emergency_circuit_healthy = false; }},
      {Refusal::guard, [](Rig& rig, PermitWords&) { rig.at.guard_closed = false; }},
      {Refusal::local_control, [](Rig& rig, PermitWords&) { rig.at.remote_selected = false; }},
      {Refusal::fault_stands,
       [](Rig& rig, PermitWords&) {
         rig.at.emergency_circuit_healthy = false;
         rig.cycle();
         rig.at.emergency_circuit_healthy = true;
       }},
      {Refusal::die_tag, [](Rig&, PermitWords& words) { words.die_tag = 102; }},
      {Refusal::die_tag, [](Rig& rig, PermitWords&) { rig.at.die_tag = 0; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.target = 0; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.limit = words.target; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.limit = 7351; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.dwell = 30001; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.closed_gap = 5001; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.timeout = 0; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.timeout = 60001; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.life = 0; }},
      {Refusal::limits, [](Rig&, PermitWords& words) { words.life = 60001; }},
  };
  for (const Case& one : cases) {
    Rig rig;
    rig.cycle();
    PermitWords words;
    one.spoil(rig, words);
    rig.cycle();
    REQUIRE(rig.order(Order::permit_one_bite, words));
    INFO("refusal " << static_cast<int>(one.expected));
    CHECK(rig.reg(input::refusal) == static_cast<std::uint16_t>(one.expected));
    CHECK(rig.reg(input::permit_state) == 2);
    CHECK(rig.reg(input::permit_echo) == rig.token);
    CHECK(rig.logic.phase() != Phase::permitted);
    rig.at = Rig().at;  // everything well again: the refused permit must not come to life
    rig.at.both_hands_on = true;
    rig.run_ms(500);
    CHECK(rig.press.gap_mm == 12);
  }
}

TEST_CASE("A permit at the edge of the node's own limits is taken", "[node][logic]") {
  Rig rig = permitted({7000, 7350, 30000, 5000, 60000, 60000, 101});
  CHECK(rig.reg(input::refusal) == 0);
}

TEST_CASE("A taken permit clears the refusal of the one before", "[node][logic]") {
  Rig rig;
  rig.cycle();
  REQUIRE(rig.order(Order::permit_one_bite, {5000, 6000, 100, 50, 5000, 3000, 999}));
  REQUIRE(rig.reg(input::refusal) == 6);
  REQUIRE(rig.order(Order::permit_one_bite));
  CHECK(rig.reg(input::refusal) == 0);
  CHECK(rig.reg(input::permit_state) == 1);
}

TEST_CASE("Illegal values are refused whole: order, token and beat keep what they had", "[node][logic]") {
  Rig rig;
  rig.cycle();
  const HoldingRegisters before = rig.logic.holding_registers();
  CHECK_FALSE(
      rig.write(0, {77, 6, 9, 5000, 6000, 100, 50, 5000, 3000, 101}));  // an order that does not exist
  CHECK_FALSE(
      rig.write(0, {77, 1, 9, 7001, 7300, 100, 50, 5000, 3000, 101}));  // above the node's own maximum
  CHECK_FALSE(rig.write(holding::order, {65535}));
  CHECK_FALSE(rig.write(holding::target_pressure, {65535}));
  CHECK(rig.logic.holding_registers() == before);
  CHECK(rig.reg(input::permit_state) == 0);
  CHECK(rig.write(holding::order, {5}));
  CHECK(rig.write(holding::target_pressure, {7000}));
}

TEST_CASE("An order acts only when its token changes to something else than zero", "[node][logic]") {
  Rig rig;
  rig.cycle();
  REQUIRE(rig.write(1, {1, 0, 5000, 6000, 100, 50, 5000, 3000, 101}));
  CHECK(rig.reg(input::permit_state) == 0);
  REQUIRE(rig.write(2, {65535}));
  CHECK(rig.reg(input::permit_state) == 1);
  CHECK(rig.reg(input::permit_echo) == 65535);
  REQUIRE(rig.write(1, {2}));  // withdraw, but with the old token
  CHECK(rig.reg(input::permit_state) == 1);
  REQUIRE(rig.write(2, {0}));
  CHECK(rig.reg(input::permit_state) == 1);
  REQUIRE(rig.write(2, {65535}));  // from zero back to the same number is a change to a non-zero value
  CHECK(rig.reg(input::permit_state) == 4);
  CHECK(rig.reg(input::permit_echo) == 65535);
  REQUIRE(rig.write(1, {1, 1, 5000, 6000, 100, 50, 5000, 3000, 101}));  // the token wraps past zero
  CHECK(rig.reg(input::permit_state) == 1);
  CHECK(rig.reg(input::permit_echo) == 1);
}

TEST_CASE("Only a permit is echoed", "[node][logic]") {
  Rig rig = permitted();
  const std::uint16_t echo = rig.token;
  for (const Order order :
       {Order::none, Order::withdraw_permit, Order::open_dies, Order::clear_fault, Order::zero_pressure}) {
    REQUIRE(rig.order(order));
    CHECK(rig.reg(input::permit_echo) == echo);
  }
}

TEST_CASE("A standing permit keeps the parameters it was taken with", "[node][logic]") {
  Rig rig = permitted();
  REQUIRE(rig.write(holding::target_pressure, {6500, 7000, 9000}));
  rig.at.both_hands_on = true;
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::peak_pressure) <= 5040);
  CHECK(rig.reg(input::dwell_done) < 400);
}

TEST_CASE("Hands that were on before the permit do not move the dies until they are put on afresh",
          "[node][logic]") {
  Rig rig;
  rig.at.both_hands_on = true;
  rig.cycle();
  REQUIRE(rig.order(Order::permit_one_bite));
  rig.run_ms(500);
  CHECK(rig.logic.phase() == Phase::permitted);
  CHECK(rig.press.gap_mm == 12);
  rig.at.both_hands_on = false;
  rig.sample();
  rig.at.both_hands_on = true;
  rig.sample();
  CHECK(rig.logic.phase() == Phase::closing);
}

TEST_CASE("Hands let go before the target: fault 3, the dies open, the bite is counted and not used",
          "[node][logic]") {
  Rig rig = in_phase(Phase::closing);
  rig.run_ms(100);
  const double gap_mm = rig.press.gap_mm;
  REQUIRE(gap_mm < 11);
  rig.at.both_hands_on = false;
  rig.sample();
  CHECK(rig.drive == Drive::open);
  CHECK(rig.reg(input::fault_code) == 3);
  CHECK(rig.logic.phase() == Phase::faulted);
  CHECK(rig.reg(input::permit_state) == 4);
  CHECK(rig.press.gap_mm > gap_mm);
  rig.run_ms(1000);
  CHECK(rig.press.home());
  CHECK(rig.drive == Drive::rest);
  CHECK(rig.reg(input::bite_number) == 1);
  CHECK(rig.logic.phase() == Phase::faulted);
  REQUIRE(rig.order(Order::clear_fault));
  CHECK(rig.logic.phase() == Phase::open);
  CHECK(rig.reg(input::fault_code) == 0);
}

TEST_CASE("Hands let go during the dwell end it early without a fault", "[node][logic]") {
  Rig rig = in_phase(Phase::holding, {5000, 6000, 2000, 50, 5000, 3000, 101});
  rig.run_ms(50);
  rig.at.both_hands_on = false;
  rig.sample();
  CHECK(rig.drive == Drive::open);
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::fault_code) == 0);
  CHECK(rig.reg(input::permit_state) == 3);
  CHECK(rig.reg(input::dwell_done) < 200);
}

TEST_CASE("The station may be silent for 250 ms under a permit and not for one cycle more", "[node][logic]") {
  for (const Phase phase : {Phase::permitted, Phase::closing, Phase::holding}) {
    Rig rig = phase == Phase::permitted ? permitted({5000, 6000, 2000, 50, 5000, 3000, 101})
                                        : in_phase(phase, {5000, 6000, 2000, 50, 5000, 3000, 101});
    REQUIRE(rig.write(holding::station_beat, {++rig.beat}));
    rig.station_beats = false;
    rig.run_ms(250);
    INFO("phase " << static_cast<int>(phase));
    CHECK(rig.reg(input::fault_code) == 0);
    CHECK(rig.reg(input::permit_state) == 1);
    REQUIRE(rig.write(holding::station_beat, {rig.beat}));  // the same number again is no beat
    rig.run_ms(10);
    CHECK(rig.reg(input::fault_code) == 5);
    CHECK(rig.reg(input::permit_state) == 4);
    rig.run_ms(2000);
    CHECK(rig.press.home());
    CHECK(rig.reg(input::bite_number) == (phase == Phase::permitted ? 0 : 1));
  }
}

TEST_CASE("A beat on the last moment keeps the permit", "[node][logic]") {
  Rig rig = permitted({5000, 6000, 100, 50, 5000, 60000, 101});
  rig.station_beats = false;
  for (int i = 0; i < 20; ++i) {
    rig.run_ms(250);
    REQUIRE(rig.write(holding::station_beat, {++rig.beat}));
  }
  CHECK(rig.reg(input::fault_code) == 0);
  CHECK(rig.logic.phase() == Phase::permitted);
}

TEST_CASE("Without a permit a silent station is no fault, and its silence before the permit is forgotten",
          "[node][logic]") {
  Rig rig;
  rig.station_beats = false;
  rig.run_ms(60000);
  CHECK(rig.reg(input::fault_code) == 0);
  REQUIRE(rig.order(Order::permit_one_bite));
  rig.run_ms(250);
  CHECK(rig.logic.phase() == Phase::permitted);
}

TEST_CASE("A permit lives as long as it was given and then expires free of fault", "[node][logic]") {
  Rig rig = permitted({5000, 6000, 100, 50, 5000, 1000, 101});
  rig.run_ms(1000);
  CHECK(rig.logic.phase() == Phase::permitted);
  rig.sample();
  CHECK(rig.logic.phase() == Phase::open);
  CHECK(rig.reg(input::permit_state) == 5);
  CHECK(rig.reg(input::fault_code) == 0);
  rig.at.both_hands_on = true;
  rig.run_ms(500);
  CHECK(rig.press.gap_mm == 12);
  CHECK(rig.reg(input::bite_number) == 0);
}

TEST_CASE("A bite begun within the permit's life is not cut short by it", "[node][logic]") {
  Rig rig = permitted({5000, 6000, 100, 50, 5000, 100, 101});
  rig.run_ms(100);
  rig.at.both_hands_on = true;
  rig.cycle();
  CHECK(rig.reg(input::permit_state) == 5);  // one sample too late
  rig = permitted({5000, 6000, 100, 50, 5000, 100, 101});
  rig.run_ms(90);
  rig.at.both_hands_on = true;
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::permit_state) == 3);
}

TEST_CASE("Pressure at the limit is borne, one step above it is fault 4 and opens the dies",
          "[node][logic]") {
  for (const bool above : {false, true}) {
    Rig rig = in_phase(Phase::holding, {5000, 5100, 5000, 50, 9000, 3000, 101});
    rig.tamper =
        above ? [](Sensors& at) { at.pressure_bar = 510.1; } : [](Sensors& at) { at.pressure_bar = 510.0; };
    rig.sample();
    CHECK(rig.reg(input::fault_code) == (above ? 4 : 0));
    CHECK(rig.drive == (above ? Drive::open : Drive::close));
    CHECK(rig.reg(input::peak_pressure) == (above ? 5101 : 5100));
  }
}

TEST_CASE("The stroke time-out counts everything but the dwell", "[node][logic]") {
  Rig rig = in_phase(Phase::closing, {5000, 6000, 100, 50, 200, 3000, 101});
  rig.tamper = [](Sensors& at) { at.pressure_bar = 0; };
  const int gone_ms = rig.reg(input::samples + 3 * (rig.reg(input::sample_count) - 1u));
  for (int ms = gone_ms; ms < 200; ms += 2) rig.sample();
  CHECK(rig.reg(input::fault_code) == 0);
  rig.sample();
  CHECK(rig.reg(input::fault_code) == 6);
  CHECK(rig.drive == Drive::open);
  // The ideal press needs some 360 ms to the target, and may dwell longer than its time-out.
  rig = in_phase(Phase::closing, {5000, 6000, 2000, 50, 600, 3000, 101});
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::fault_code) == 0);
  CHECK(rig.reg(input::dwell_done) >= 2000);
}

TEST_CASE("Dies that do not come home after a bite raise the stroke time-out", "[node][logic]") {
  Rig rig = in_phase(Phase::opening);
  rig.tamper = [](Sensors& at) { at.gap_mm = 5, at.dies_home = false; };
  rig.run_ms(21000);
  CHECK(rig.reg(input::fault_code) == 6);
  CHECK(rig.drive == Drive::open);
  CHECK(rig.logic.bite_runs());
}

TEST_CASE("What is wrong with the press raises its own fault in every phase and opens the dies",
          "[node][logic]") {
  struct Case {
    std::uint16_t code;
    void (*tamper)(Sensors&);
  };
  const Case cases[] = {
      {1, [](Sensors& at) { at.emergency_circuit_healthy = false; }},
      {4, [](Sensors& at) { at.pressure_bar = 735.1; }},
      {7, [](Sensors& at) { at.pressure_bar = std::nan(""); }},
      {7, [](Sensors& at) { at.pressure_bar = -11; }},
      {8, [](Sensors& at) { at.gap_mm = std::nan(""); }},
      {8, [](Sensors& at) { at.gap_mm = -1.1; }},
      {8, [](Sensors& at) { at.gap_mm = 1e9; }},
      {8, [](Sensors& at) { at.dies_home = true, at.gap_mm = 0.9; }},
      {9, [](Sensors& at) { at.oil_temperature_c = 70.1; }},
      {9, [](Sensors& at) { at.oil_temperature_c = -0.1; }},
      {9, [](Sensors& at) { at.oil_temperature_c = std::nan(""); }},
  };
  for (const Case& one : cases) {
    for (const Phase phase :
         {Phase::open, Phase::permitted, Phase::closing, Phase::holding, Phase::opening}) {
      Rig rig = phase == Phase::open ? Rig() : phase == Phase::permitted ? permitted() : in_phase(phase);
      if (phase == Phase::open) rig.cycle();
      rig.tamper = one.tamper;
      rig.sample();
      INFO("fault " << one.code << " in phase " << static_cast<int>(phase));
      CHECK(rig.reg(input::fault_code) == one.code);
      CHECK(rig.logic.phase() == Phase::faulted);
      CHECK(rig.drive != Drive::close);
      CHECK(rig.reg(input::permit_state) == (phase == Phase::open ? 0 : 4));
      REQUIRE(rig.order(Order::clear_fault));
      CHECK(rig.reg(input::fault_code) == one.code);  // the cause still stands
      rig.tamper = nullptr;
      rig.run_ms(1000);
      CHECK(rig.press.home());
      REQUIRE(rig.order(Order::clear_fault));
      CHECK(rig.reg(input::fault_code) == 0);
      CHECK(rig.logic.phase() == Phase::open);
    }
  }
}

TEST_CASE("An opened guard is a fault only while a permit is taken or a bite runs", "[node][logic]") {
  Rig idle;
  idle.at.guard_closed = false;
  idle.run_ms(100);
  CHECK(idle.reg(input::fault_code) == 0);
  for (const Phase phase : {Phase::permitted, Phase::closing, Phase::holding, Phase::opening}) {
    Rig rig = phase == Phase::permitted ? permitted() : in_phase(phase);
    rig.at.guard_closed = false;
    rig.sample();
    CHECK(rig.reg(input::fault_code) == 2);
    CHECK(rig.drive != Drive::close);
    rig.run_ms(1000);
    REQUIRE(rig.order(Order::clear_fault));
    CHECK(rig.reg(input::fault_code) == 2);
    rig.at.guard_closed = true;
    rig.sample();
    REQUIRE(rig.order(Order::clear_fault));
    CHECK(rig.reg(input::fault_code) == 0);
  }
}

TEST_CASE("A withdrawn permit cannot be used; withdrawn in a bite, the dies open", "[node][logic]") {
  for (const Order order : {Order::withdraw_permit, Order::open_dies}) {
    Rig rig = permitted();
    REQUIRE(rig.order(order));
    CHECK(rig.logic.phase() == Phase::open);
    CHECK(rig.reg(input::permit_state) == 4);
    rig.at.both_hands_on = true;
    rig.run_ms(500);
    CHECK(rig.press.gap_mm == 12);
    for (const Phase phase : {Phase::closing, Phase::holding}) {
      rig = in_phase(phase, {5000, 6000, 2000, 50, 5000, 3000, 101});
      REQUIRE(rig.order(order));
      rig.sample();
      CHECK(rig.drive == Drive::open);
      CHECK(rig.reg(input::fault_code) == 0);
      REQUIRE(rig.run_until(Phase::open));
      CHECK(rig.reg(input::permit_state) == 4);
      CHECK(rig.reg(input::bite_number) == 1);
    }
  }
}

TEST_CASE("A second permit is refused and takes the first one with it", "[node][logic]") {
  Rig rig = permitted();
  REQUIRE(rig.order(Order::permit_one_bite));
  CHECK(rig.reg(input::permit_state) == 2);
  CHECK(rig.reg(input::refusal) == 1);
  CHECK(rig.reg(input::permit_echo) == rig.token);
  rig.at.both_hands_on = true;
  rig.run_ms(200);
  CHECK(rig.press.gap_mm == 12);
  rig = in_phase(Phase::closing);
  REQUIRE(rig.order(Order::permit_one_bite));
  rig.sample();
  CHECK(rig.drive == Drive::open);
}

TEST_CASE("Local control, another die pair, a stopped pump or dies off home end a permit without a fault",
          "[node][logic]") {
  void (*const spoilers[])(Sensors&) = {[](Sensors& at) { at.remote_selected = false; },
                                        [](Sensors& at) { at.die_tag = 102; },
                                        [](Sensors& at) { at.pump_running = false; }};
  for (const auto spoil : spoilers) {
    for (const Phase phase : {Phase::permitted, Phase::closing, Phase::holding}) {
      Rig rig = phase == Phase::permitted ? permitted() : in_phase(phase);
      rig.tamper = spoil;
      rig.sample();
      CHECK(rig.reg(input::permit_state) == 4);
      CHECK(rig.reg(input::fault_code) == 0);
      CHECK(rig.drive != Drive::close);
    }
  }
  Rig rig = permitted();
  rig.tamper = [](Sensors& at) { at.dies_home = false; };
  rig.sample();
  CHECK(rig.reg(input::permit_state) == 4);
  CHECK(rig.logic.phase() == Phase::stopped);
}

TEST_CASE("Pressure is zeroed with the dies home at rest and never beyond ten bar", "[node][logic]") {
  Rig rig;
  rig.cycle();
  REQUIRE(rig.order(Order::zero_pressure));
  CHECK(rig.logic.zeroings() == 1);
  rig.tamper = [](Sensors& at) { at.pressure_bar = 10.1; };
  rig.cycle();
  REQUIRE(rig.order(Order::zero_pressure));
  CHECK(rig.logic.zeroings() == 1);
  for (const Phase phase : {Phase::closing, Phase::holding, Phase::opening}) {
    rig = in_phase(phase);
    REQUIRE(rig.order(Order::zero_pressure));
    CHECK(rig.logic.zeroings() == 0);
  }
  rig = permitted();
  REQUIRE(rig.order(Order::zero_pressure));
  CHECK(rig.logic.zeroings() == 0);
}

TEST_CASE("A pressure that stands at target before the dies moved is a broken sensor", "[node][logic]") {
  Rig rig = permitted();
  rig.tamper = [](Sensors& at) { at.pressure_bar = 500; };
  rig.at.both_hands_on = true;
  rig.sample();
  CHECK(rig.reg(input::fault_code) == 7);
  CHECK(rig.drive != Drive::close);
}

TEST_CASE("Dies away from home with no bite open by order only while both hands are on", "[node][logic]") {
  Rig rig;
  rig.press.gap_mm = 6;
  rig.run_ms(200);
  CHECK(rig.logic.phase() == Phase::stopped);
  CHECK(rig.press.gap_mm == 6);
  REQUIRE(rig.order(Order::open_dies));
  rig.run_ms(200);
  CHECK(rig.press.gap_mm == 6);
  rig.at.both_hands_on = true;
  rig.run_ms(50);
  CHECK(rig.press.gap_mm > 6);
  rig.at.both_hands_on = false;
  const double gap_mm = rig.press.gap_mm;
  rig.run_ms(200);
  CHECK(rig.press.gap_mm == Approx(gap_mm).margin(0.21));
  rig.at.both_hands_on = true;
  REQUIRE(rig.run_until(Phase::open));
  CHECK(rig.reg(input::bite_number) == 0);
}
