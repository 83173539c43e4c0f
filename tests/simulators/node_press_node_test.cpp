// Plant, sensors, bench and logic together, in one thread and without a clock: a whole bite as fast as it can
// be run.
#include <catch2/catch.hpp>

#include "library/library.hpp"
#include "simulators/node/bench_desk.hpp"
#include "simulators/node/press_node.hpp"

using namespace shankwright;
using namespace shankwright::node;

namespace {

const library::Library& shop_library() {
  static const library::Library library = library::load(SOURCE_DIR "/recipes");
  return library;
}

std::uint64_t mixed(std::uint64_t digest, std::uint64_t value) {
  return (digest ^ value) * 0x100000001B3u;
}

struct Finished {
  InputRegisters image{};
  std::uint64_t digest = 0xCBF29CE484222325u;  ///< of every image seen, so that two runs can be compared
  int cycles = 0;
};

/// Draws a part, lays it in its dies and presses it once, the station beating.
Finished press_once(std::uint64_t seed, std::vector<FaultWindow> faults = {}, std::uint16_t target = 1300) {
  const auto joined = library::join(shop_library(), "straight-shank-3-16-7x19");
  REQUIRE(joined.ok());
  PressNode node({}, {}, seed, std::move(faults));
  node.with_bench([&](bench::Bench& bench, bool) {
    bench.mount(joined.value().die_pair);
    bench.new_part(joined.value(), {});
    REQUIRE(bench.mark_depth(bench.part().truth().bore_depth_mm).ok());
    REQUIRE(bench.mark_boundary(bench.part().truth().bore_depth_mm).ok());
    REQUIRE(bench.insert(0).ok());
    REQUIRE(bench.position(1.5).ok());
  });
  for (int i = 0; i < 10; ++i) node.cycle();
  const std::vector<std::uint16_t> permit{1,
                                          1,
                                          target,
                                          static_cast<std::uint16_t>(target + 200),
                                          500,
                                          50,
                                          10000,
                                          20000,
                                          joined.value().die_pair.tag};
  REQUIRE(node.write_holding_registers(1, permit));
  node.change_contacts([](Contacts& contacts) { contacts.both_hands_on = true; });
  Finished out;
  std::uint16_t beat = 0;
  do {
    const std::uint16_t next = ++beat;
    REQUIRE(node.write_holding_registers(0, std::span(&next, 1)));
    node.cycle();
    out.image = node.read_input_registers();
    for (const std::uint16_t word : out.image) out.digest = mixed(out.digest, word);
  } while (++out.cycles < 3000 && out.image[input::bite_number] == 0);
  REQUIRE(out.image[input::bite_number] == 1);
  return out;
}

}  // namespace

TEST_CASE("The simulated press squeezes a real part to the target, holds it and comes home",
          "[node][press]") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const Finished bite = press_once(seed);
    INFO("seed " << seed);
    CHECK(bite.image[input::fault_code] == 0);
    CHECK(bite.image[input::permit_state] == 3);
    CHECK(bite.image[input::peak_pressure] >= 1300);
    CHECK(bite.image[input::peak_pressure] <= 1340);
    CHECK(bite.image[input::dwell_done] >= 500);
    CHECK(bite.image[input::least_gap] <= 60);
  }
}

TEST_CASE("The same seed gives the same registers to the last bit, another seed others", "[node][press]") {
  const std::vector<FaultWindow> faults = random_windows(5, 6, 3000);
  CHECK(press_once(3).digest == press_once(3).digest);
  CHECK(press_once(3).digest != press_once(4).digest);
  std::vector<FaultWindow> machine;
  for (const FaultWindow& window : faults) {
    if (window.kind == FaultKind::air_fraction || window.kind == FaultKind::leak_mm3_s_bar)
      machine.push_back(window);
  }
  CHECK(press_once(3, machine).digest == press_once(3, machine).digest);
}

TEST_CASE("Under every fault of the machine and its sensors the bite ends with the dies home",
          "[node][press]") {
  for (const FaultDescription& description : fault_descriptions()) {
    for (const double value : {description.drawn_least, description.drawn_most}) {
      if (description.kind == FaultKind::image_frozen) continue;  // shows nothing by intent
      INFO(description.name << " = " << value);
      const Finished bite = press_once(2, {{description.kind, value, 1000, no_end_ms}});
      CHECK((bite.image[input::status] >> 4 & 1) == 1);
      CHECK(bite.image[input::permit_state] >= 3);
      CHECK((bite.image[input::phase] == 1) == (bite.image[input::fault_code] == 0));
    }
  }
}

TEST_CASE("Nobody reaches between moving dies", "[node][press]") {
  const auto joined = library::join(shop_library(), "straight-shank-3-16-7x19");
  REQUIRE(joined.ok());
  PressNode node({}, {}, 1);
  const BenchDesk desk(node, shop_library());
  REQUIRE(desk.act("die", R"({"tag":105})").status == 200);
  REQUIRE(desk.act("part", R"({"recipe":"straight-shank-3-16-7x19"})").status == 200);
  REQUIRE(desk.act("position", R"({"edge":"1.5 mm"})").status == 200);
  node.cycle();
  REQUIRE(node.write_holding_registers(
      1, std::vector<std::uint16_t>{1, 1, 1300, 1500, 500, 50, 10000, 20000, 105}));
  REQUIRE(desk.act("hands", R"({"on":true})").status == 200);
  for (int i = 0; i < 5; ++i) node.cycle();
  REQUIRE(node.view().phase == Phase::closing);
  for (const auto& [act, body] : {std::pair{"die", R"({"tag":0})"},
                                  {"part", R"({"recipe":"straight-shank-3-16-7x19"})"},
                                  {"mark", R"({"which":"depth","aimed":"50 mm"})"},
                                  {"insert", R"({"short_by":"0 mm"})"},
                                  {"pull_out", "{}"},
                                  {"position", R"({"edge":"1.5 mm"})"},
                                  {"turn", R"({"by":"90 deg"})"},
                                  {"take_out", "{}"},
                                  {"measure", R"({"kind":"shank_diameter","gauge":"micrometer-1"})"}}) {
    const DeskReply reply = desk.act(act, body);
    INFO(act << ": " << reply.json);
    CHECK(reply.status == 409);
  }
  CHECK(node.view().die_tag == 105);
}
