#include <algorithm>
#include <catch2/catch.hpp>

#include "workshop/falls_due.hpp"

// Goal: whoever looks sees first what stops work today, then what soon will. Demo data.
using namespace shankwright;
using namespace shankwright::workshop;

namespace {

struct ShopFloor {
  library::Library library;
  library::Shop shop;
  std::vector<people::Person> people;
  std::uint64_t strokes = 0;
  bool record_answers = true;
  std::optional<std::int64_t> press_due_day = 1300;

  [[nodiscard]] std::vector<DueItem> items() const {
    return falls_due({library, shop, people, 1000, "press-1", press_due_day,
                      [this](const std::string&) -> std::optional<std::uint64_t> {
                        return record_answers ? std::optional(strokes) : std::nullopt;
                      }});
  }
  [[nodiscard]] DueItem of(DueKind kind) const {
    for (const auto& item : items())
      if (item.kind == kind) return item;
    FAIL("no item of this kind");
    return {};
  }
};

}  // namespace

TEST_CASE("the last day itself is in date, the day after is not") {
  ShopFloor floor;
  for (const auto& [due, urgency] : std::vector<std::pair<std::int64_t, Urgency>>{
           {999, Urgency::overdue}, {1000, Urgency::soon}, {1030, Urgency::soon}, {1031, Urgency::later}}) {
    floor.shop.gauge_calibration_due_day = {{"caliper-1", due}};
    CHECK(floor.of(DueKind::gauge_calibration).urgency == urgency);
    CHECK(floor.of(DueKind::gauge_calibration).days_left == due - 1000);
  }
  floor.press_due_day.reset();
  CHECK(floor.of(DueKind::press_calibration).urgency == Urgency::overdue);
}

TEST_CASE("a die pair's life counts the strokes before the register and those on record") {
  ShopFloor floor;
  recipe::DiePair dies;
  dies.life_strokes = 10'000;
  floor.library.die_pairs["hex-1"] = dies;
  floor.shop.die_pairs["hex-1"] = {"D-1", 1200, 8000};
  floor.strokes = 999;
  CHECK(floor.of(DueKind::die_life).strokes_left == 1001);
  CHECK(floor.of(DueKind::die_life).urgency == Urgency::later);
  floor.strokes = 1000;  // a tenth of its life is left
  CHECK(floor.of(DueKind::die_life).urgency == Urgency::soon);
  floor.strokes = 2000;
  CHECK(floor.of(DueKind::die_life).strokes_left == 0);
  CHECK(floor.of(DueKind::die_life).urgency == Urgency::overdue);
  floor.strokes = 0;
  floor.record_answers = false;  // nobody knows: it counts as used up
  CHECK(floor.of(DueKind::die_life).urgency == Urgency::overdue);
  CHECK_FALSE(floor.of(DueKind::die_life).strokes_left);
}

TEST_CASE("overdue comes before soon, soon before later, and the nearest first") {
  ShopFloor floor;
  floor.shop.gauge_calibration_due_day = {{"a", 1005}, {"b", 990}, {"c", 1400}, {"d", 1001}};
  people::Person ben;
  ben.id = "ben";
  ben.qualified_until_day = {{"straight-shank-hexagon", 997}};
  floor.people = {ben};
  recipe::DiePair dies;
  dies.life_strokes = 1000;
  floor.library.die_pairs["hex-1"] = dies;
  floor.shop.die_pairs["hex-1"] = {"D-1", 1500, 910};  // 90 of 1000 left: nine tenths of the span of "soon"
  std::string order;
  for (const auto& item : floor.items()) order += item.id + " ";
  CHECK(order == "b ben d a hex-1 press-1 c hex-1 ");
}
