#include <catch2/catch.hpp>

#include "simulators/node/fault_plan.hpp"

using namespace shankwright::node;

TEST_CASE("Faults are read from their text and told again in the same words", "[node][faults]") {
  struct Case {
    const char* text;
    FaultKind kind;
    double value;
    std::int64_t from_ms, until_ms;
    const char* again;
  };
  const Case cases[] = {
      {"link_dropped@20s+2s", FaultKind::link_dropped, 0, 20000, 22000, "link_dropped@20000ms+2000ms"},
      {"relief_valve_bar=180", FaultKind::relief_valve_bar, 180, 0, no_end_ms, "relief_valve_bar=180"},
      {"answer_delay_ms=60@500ms+3s", FaultKind::answer_delay_ms, 60, 500, 3500,
       "answer_delay_ms=60@500ms+3000ms"},
      {"gap_offset_mm=-0.25@1min", FaultKind::gap_offset_mm, -0.25, 60000, no_end_ms,
       "gap_offset_mm=-0.25@60000ms"},
      {"pressure_frozen", FaultKind::pressure_frozen, 0, 0, no_end_ms, "pressure_frozen"},
  };
  for (const Case& one : cases) {
    const auto read = parse_fault(one.text);
    INFO(one.text);
    REQUIRE(read.ok());
    CHECK(read.value().kind == one.kind);
    CHECK(read.value().value == one.value);
    CHECK(read.value().from_ms == one.from_ms);
    CHECK(read.value().until_ms == one.until_ms);
    CHECK(text_of(read.value()) == one.again);
  }
}

TEST_CASE("What is no fault is told with what was found and what is taken", "[node][faults]") {
  for (const char* text :
       {"", "nothing", "link_dropped=3", "relief_valve_bar", "relief_valve_bar=", "relief_valve_bar=x",
        "relief_valve_bar=2", "relief_valve_bar=nan", "link_dropped@", "link_dropped@20", "link_dropped@20s+",
        "link_dropped@20s+0s", "link_dropped@-1s", "@20s", "=3"}) {
    const auto read = parse_fault(text);
    INFO(text);
    REQUIRE_FALSE(read.ok());
    CHECK(read.problem().found.find(text) != std::string::npos);
    CHECK_FALSE(read.problem().expected.empty());
  }
}

TEST_CASE("Every kind of fault reaches what it concerns, inside its window and not outside",
          "[node][faults]") {
  for (const FaultDescription& description : fault_descriptions()) {
    FaultWindow window{description.kind, description.has_value ? description.most : 0, 1000, 2000};
    const std::vector<FaultWindow> windows{window};
    const ActiveFaults none;
    INFO(description.name);
    const auto differs = [&](std::int64_t at_ms) {
      const ActiveFaults now = active_at(windows, at_ms);
      return !(now.link == none.link) || !(now.plant == none.plant) || now.beat_frozen || now.image_frozen ||
             now.sample_hole_every != 0;
    };
    CHECK_FALSE(differs(999));
    CHECK(differs(1000));
    CHECK(differs(1999));
    CHECK_FALSE(differs(2000));
    CHECK(find_fault(description.name) == &description);
  }
}

TEST_CASE("The same seed draws the same faults, and their texts read back", "[node][faults]") {
  const auto first = random_windows(7, 200, 60000), second = random_windows(7, 200, 60000);
  REQUIRE(first.size() == 200);
  for (std::size_t i = 0; i < first.size(); ++i) {
    CHECK(text_of(first[i]) == text_of(second[i]));
    CHECK(first[i].from_ms <= 60000);
    const auto read = parse_fault(text_of(first[i]));
    REQUIRE(read.ok());
    CHECK(read.value().value == first[i].value);
  }
  CHECK(text_of(first[0]) != text_of(random_windows(8, 1, 60000)[0]));
}
