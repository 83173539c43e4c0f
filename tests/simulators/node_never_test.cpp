// What must never happen, judged by rules written from the page and not by the logic's own helpers: over
// every short sequence of orders and acts, and over long random walks.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <random>
#include <string>

#include "node_rig.hpp"

using namespace shankwright::node;
using namespace shankwright::node::testing;

namespace {

/// The rules, from registers and drive alone. Empty: nothing broken.
std::string broken_rule(const InputRegisters& before, const Rig& rig) {
  if (rig.drive == Drive::close) {
    const unsigned phase = rig.seen[2], fault = rig.seen[3], status = rig.seen[4], permit = rig.seen[12];
    const auto on = [status](unsigned bit) { return (status >> bit & 1u) != 0; };
    if (!on(2)) return "dies driven to close without both hands";
    if (!on(0) || !on(1) || !on(8))
      return "dies driven to close without emergency circuit, guard or remote control";
    if (permit != 1) return "dies driven to close without a taken permit";
    if (fault != 0) return "dies driven to close with a fault";
    if (phase != 3 && phase != 4) return "dies driven to close outside closing and holding";
  }
  const InputRegisters now = rig.logic.input_registers();
  const unsigned phase = now[2], fault = now[3], status = now[4], permit = now[12], refusal = now[22];
  if (phase > 6 || fault > 9 || permit > 5 || refusal > 7) return "a code the page does not have";
  if ((fault != 0) != (phase == 6)) return "phase 6 and a fault belong together";
  if (permit == 1 && !(phase >= 2 && phase <= 5)) return "a permit taken outside phases 2 to 5";
  if ((phase == 2 || phase == 3 || phase == 4) && permit != 1) return "work without a taken permit";
  if (permit == 2 && refusal == 0) return "refused without a reason";
  if (permit == 1 && refusal != 0) return "taken with a reason to refuse";
  const auto bites = static_cast<std::uint16_t>(now[13] - before[13]);
  if (bites > 1) return "bite number jumps";
  const unsigned strokes = (static_cast<unsigned>(now[14]) << 16 | now[15]) -
                           (static_cast<unsigned>(before[14]) << 16 | before[15]);
  if (strokes != bites) return "strokes and bites part ways";
  if (bites == 1 && ((status >> 4 & 1u) == 0 || phase == 3 || phase == 4 || phase == 5))
    return "a bite finished away from home";
  if (permit == 3 && before[12] != 3 && bites != 1) return "a permit used without a finished bite";
  if (now[20] > 25) return "more samples than rows";
  const bool bite_runs = phase == 3 || phase == 4 || phase == 5;
  if (bite_runs && now[21] != static_cast<std::uint16_t>(now[13] + 1)) return "samples of another bite";
  return "";
}

/// One act on the rig by number; 0 to 5 are the station's orders.
constexpr int acts = 15;
void act(Rig& rig, int number) {
  switch (number) {
    case 6:
      rig.at.both_hands_on = !rig.at.both_hands_on;
      break;
    case 7:
      rig.at.guard_closed = !rig.at.guard_closed;
      break;
    case 8:
      rig.at.emergency_circuit_healthy = !rig.at.emergency_circuit_healthy;
      break;
    case 9:
      rig.at.remote_selected = !rig.at.remote_selected;
      break;
    case 10:
      rig.at.die_tag = rig.at.die_tag == 101 ? 0 : 101;
      break;
    case 11:
      rig.station_beats = !rig.station_beats;
      break;
    case 12:
      rig.run_ms(300);
      break;
    case 13:
      rig.at.pump_running = !rig.at.pump_running;
      break;
    case 14:
      rig.at.oil_temperature_c = rig.at.oil_temperature_c > 50 ? 40 : 90;
      break;
    default:
      REQUIRE(rig.order(static_cast<Order>(number)));
      break;
  }
}

std::uint64_t walk_seed() {
  const char* given = std::getenv("SHANKWRIGHT_SEED");
  return given != nullptr ? std::strtoull(given, nullptr, 10) : 20240611;
}

}  // namespace

TEST_CASE("No sequence of orders moves the dies without hands", "[node][never]") {
  // Every sequence of six orders, tokens fresh or repeated, each followed by one cycle.
  long sequences = 0;
  const auto walk = [&sequences](const auto& self, const Rig& from, int depth) -> void {
    for (int order = 0; order <= last_order; ++order) {
      Rig rig = from;
      REQUIRE(rig.order(static_cast<Order>(order)));
      rig.cycle();
      if (rig.drive != Drive::rest || rig.press.gap_mm != 12 || rig.reg(13) != 0)
        FAIL("moved at depth " << depth);
      ++sequences;
      if (depth > 1) self(self, rig, depth - 1);
    }
  };
  Rig rig;
  rig.cycle();
  walk(walk, rig, 6);
  CHECK(sequences == 6 + 36 + 216 + 1296 + 7776 + 46656);
}

TEST_CASE("Whatever a station writes anywhere, the dies stay where they are without hands", "[node][never]") {
  const std::uint64_t seed = walk_seed();
  std::mt19937_64 dice(seed);
  Rig rig;
  rig.station_beats = false;
  for (int i = 0; i < 300000; ++i) {
    const auto address = static_cast<std::uint16_t>(dice() % 10);
    std::vector<std::uint16_t> values(1 + dice() % (10 - address));
    for (auto& value : values) {
      value = static_cast<std::uint16_t>(dice() % 3 == 0   ? dice() % 8
                                         : dice() % 2 == 0 ? 5000 + dice() % 900
                                                           : dice());
    }
    if (address <= holding::expected_die_tag && dice() % 2 == 0 && address + values.size() == 10)
      values.back() = 101;
    static_cast<void>(rig.logic.write(address, values));
    if (dice() % 4 == 0) rig.cycle();
    if (rig.drive != Drive::rest || rig.press.gap_mm != 12) FAIL("seed " << seed << ", write " << i);
  }
}

TEST_CASE("Every short sequence of orders and acts keeps the rules", "[node][never]") {
  // From open, permitted, closing, holding, opening: every sequence of three acts, a cycle after each.
  std::vector<Rig> starts;
  for (const Phase phase : {Phase::open, Phase::permitted, Phase::closing, Phase::holding, Phase::opening}) {
    Rig rig;
    rig.cycle();
    if (phase != Phase::open) REQUIRE(rig.order(Order::permit_one_bite));
    rig.at.both_hands_on = phase != Phase::open && phase != Phase::permitted;
    REQUIRE(rig.run_until(phase));
    starts.push_back(rig);
  }
  long visited = 0;
  const auto walk = [&visited](const auto& self, const Rig& from, int depth) -> void {
    for (int number = 0; number < acts; ++number) {
      Rig rig = from;
      const InputRegisters before = rig.logic.input_registers();
      act(rig, number);
      rig.cycle();
      ++visited;
      if (const std::string rule = broken_rule(before, rig); !rule.empty()) FAIL(rule << ", act " << number);
      if (depth > 1) self(self, rig, depth - 1);
    }
  };
  for (const Rig& start : starts) walk(walk, start, 3);
  CHECK(visited == 5 * (15 + 225 + 3375));
}

TEST_CASE("A random walk of a million samples keeps the rules and still gets work done", "[node][never]") {
  const std::uint64_t seed = walk_seed();
  std::mt19937_64 dice(seed);
  Rig rig;
  rig.cycle();
  int used = 0;
  std::array<bool, 10> faults_seen{};
  std::array<bool, 8> refusals_seen{};
  for (int step = 0; step < 1000000; ++step) {
    const InputRegisters before = rig.logic.input_registers();
    // Mostly a press that is looked after, now and then a meddler: else no bite would ever be finished.
    if (dice() % 64 == 0) {
      act(rig, static_cast<int>(dice() % acts));
    } else if (dice() % 16 == 0) {
      const Sensors well = Rig().at;
      const bool hands = rig.at.both_hands_on;
      rig.at = well;
      rig.at.both_hands_on = hands;
      rig.station_beats = true;
      const unsigned phase = before[2];
      if (phase == 6) act(rig, 4);
      if (phase == 1) rig.at.both_hands_on = false;
      if (phase == 1 && dice() % 4 == 0) act(rig, 1);
      if (phase >= 2 && phase <= 4) rig.at.both_hands_on = true;
    }
    if (rig.station_beats && step % 5 == 0) rig.write(holding::station_beat, {++rig.beat});
    const InputRegisters start = rig.logic.input_registers();
    rig.sample();
    if (step % 5 == 4) rig.logic.cycle();
    if (const std::string rule = broken_rule(start, rig); !rule.empty()) {
      FAIL(rule << ", seed " << seed << ", step " << step);
    }
    used += rig.reg(12) == 3 && before[12] != 3 ? 1 : 0;
    faults_seen[rig.reg(3)] = true;
    refusals_seen[rig.reg(22)] = true;
  }
  INFO("seed " << seed);
  CHECK(used > 100);
  for (const int fault : {0, 1, 2, 3, 5, 9}) CHECK(faults_seen[static_cast<std::size_t>(fault)]);
  for (const int refusal : {0, 1, 2, 3, 4, 5, 6}) CHECK(refusals_seen[static_cast<std::size_t>(refusal)]);
}
