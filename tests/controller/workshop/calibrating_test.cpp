#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "tests/controller/station/fakes.hpp"
#include "workshop/workshop.hpp"

// Goal: a technician is led through a whole calibration, cannot leave a step out, and what was read stands on
// record, the discarded readings too; the newest calibration on record says until when the press may be used.
// Method: a workshop over a record in memory. Demo data.
using namespace shankwright;
using namespace shankwright::workshop;
using calibration::ForceClass;
using What = ForceAsked::What;

namespace {

constexpr double ram_area_mm2 = 21'000;

struct Floor {
  std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("shankwright-calibrating-" + std::to_string(::getpid()));
  tests::HandClock clock;
  tests::MemoryStore record;
  library::Library library;
  library::Shop shop;
  people::FixedPeople people{{}};
  std::unique_ptr<Workshop> workshop;
  std::int64_t today = 0;

  Floor() {
    std::filesystem::remove_all(folder);
    recipe::Press press;
    press.id = "press-1";
    press.capacity_kn = 1471;
    press.ram_area_mm2 = ram_area_mm2;
    library.presses["press-1"] = press;
    recipe::Gauge cell;
    cell.id = "load-cell-1";
    cell.kind = recipe::GaugeKind::load_cell;
    library.gauges["load-cell-1"] = cell;
    today = clock.utc_us() / 86'400'000'000;
    shop.gauge_calibration_due_day["load-cell-1"] = today;
    shop.press_calibration_due_day["press-1"] = today + 10;
    open();
  }
  ~Floor() { std::filesystem::remove_all(folder); }
  void open() {
    workshop = std::make_unique<Workshop>(WorkshopOptions{"press-1", folder, folder}, record, library, shop,
                                          people, clock);
  }
  static ForceBegin good_begin() { return {"load-cell-1", 600, 0.2, ForceClass::one, 5, true}; }
  /// The press as the station reads it, under this force.
  [[nodiscard]] ports::Snapshot press_at(double force_kn) const {
    ports::Snapshot out;
    out.press_fresh = true;
    out.press.link = ports::LinkState::connected;
    out.press.at_monotonic_us = clock.monotonic_us();
    out.press.pressure_bar = force_kn * 1e4 / ram_area_mm2;
    return out;
  }
  std::optional<Problem> read(std::size_t run, std::size_t step, double indicated_kn, double cell_kn) {
    return workshop->take({run, step, cell_kn, std::nullopt}, press_at(indicated_kn), "dan");
  }
  /// All that is asked for, with a press that indicates (1 + error) of the true force.
  void go_through(double error_percent) {
    REQUIRE_FALSE(workshop->begin(good_begin()));
    for (int i = 0; i < 100; ++i) {
      const auto asked = workshop->calibrating().asked;
      if (asked.what == What::finish) return;
      if (asked.what == What::run)
        REQUIRE_FALSE(workshop->begin_run({static_cast<double>(asked.run) * 100, std::nullopt}));
      if (asked.what == What::reading)
        REQUIRE_FALSE(
            read(asked.run, asked.step, asked.target_kn, asked.target_kn / (1 + error_percent / 100)));
      if (asked.what == What::zero) REQUIRE_FALSE(workshop->take({asked.run, 0, 0, 0.1}, press_at(0), "dan"));
    }
    FAIL("it never comes to an end");
  }
};

}  // namespace

TEST_CASE("a whole calibration goes on record and moves the day on which the press falls due") {
  Floor floor;
  auto until = floor.workshop->calibrations().until("press-1");
  CHECK(until.value().day == floor.today + 10);  // by the shop register
  CHECK_FALSE(until.value().on_record);
  floor.go_through(0.4);
  CHECK(floor.record.kept.empty());  // nothing on record before the end
  const auto done = floor.workshop->finish(floor.today + 300, "dan");
  REQUIRE(done);
  CHECK_FALSE(floor.workshop->calibrating().running);
  REQUIRE(floor.record.kept.size() == 1);
  const auto& entry = floor.record.kept[0].entry;
  CHECK(entry.kind == "station");
  CHECK(entry.event == "force_calibrated");
  CHECK(entry.actor == "dan");
  const auto kept = calibration::calibration_from_json(entry.body_json);
  REQUIRE(kept);
  CHECK(kept.value().runs.size() == 3);
  CHECK(calibration::judge(kept.value().series()).of == ForceClass::half);
  // The station read the press itself.
  CHECK(kept.value().runs[2].readings[4].pressure_bar == Approx(600 * 1e4 / ram_area_mm2));
  CHECK_FALSE(kept.value().runs[2].zero->pressure_bar);  // typed
  until = floor.workshop->calibrations().until("press-1");
  CHECK(until.value().day == floor.today + 300);
  CHECK(until.value().on_record);
}

TEST_CASE("a press that does not reach the needed class is out of calibration from then on") {
  Floor floor;
  floor.go_through(1.5);  // class 2, where class 1 was needed
  const auto refused = floor.workshop->finish(floor.today + 300, "dan");
  REQUIRE_FALSE(refused);
  CHECK(refused.problem().place == "/due");
  REQUIRE(floor.workshop->finish(std::nullopt, "dan"));
  const auto until = floor.workshop->calibrations().until("press-1").value();
  CHECK(until.on_record);
  CHECK_FALSE(until.day);  // whatever the shop register says
  floor.go_through(0.1);   // mended, and calibrated again: the newest counts
  REQUIRE(floor.workshop->finish(floor.today + 1, "dan"));
  CHECK(floor.workshop->calibrations().until("press-1").value().day == floor.today + 1);
}

TEST_CASE("the due day lies after today and no more than a year away") {
  Floor floor;
  floor.go_through(0.1);
  for (const std::optional<std::int64_t> day :
       {std::optional<std::int64_t>{}, std::optional(floor.today), std::optional(floor.today + 367)})
    CHECK(floor.workshop->finish(day, "dan").problem().place == "/due");
  CHECK(floor.workshop->finish(floor.today + 366, "dan"));
}

TEST_CASE("nothing is left out: a step, a run, the reading without force") {
  Floor floor;
  CHECK(floor.read(1, 1, 120, 120)->found == "no calibration under way");
  REQUIRE_FALSE(floor.workshop->begin(Floor::good_begin()));
  CHECK(floor.workshop->begin(Floor::good_begin())->found == "a calibration under way");
  CHECK(floor.read(1, 1, 120, 120)->place == "/run");
  REQUIRE_FALSE(floor.workshop->begin_run({0, 20}));
  CHECK(floor.workshop->begin_run({120, 30}));  // the first is not finished
  CHECK(floor.read(1, 2, 240, 240)->place == "/step");
  CHECK(floor.read(1, 0, 0, 0)->place == "/step");
  CHECK(floor.workshop->finish(floor.today + 1, "dan").problem().expected == "a whole calibration");
  CHECK(floor.workshop->calibrating().asked.target_kn == Approx(120));
}

TEST_CASE("a reading is taken at its force, from a press that is heard of, and is no slip of the pen") {
  Floor floor;
  REQUIRE_FALSE(floor.workshop->begin(Floor::good_begin()));
  REQUIRE_FALSE(floor.workshop->begin_run({0, std::nullopt}));
  CHECK(floor.read(1, 1, 107.9, 108)->place == "/indicated");  // 2 % of 600 kN either way
  CHECK(floor.read(1, 1, 132.1, 132)->place == "/indicated");
  CHECK(floor.read(1, 1, 120, 12.1)->place == "/cell");
  CHECK(floor.read(1, 1, 120, 0)->place == "/cell");
  auto stale = floor.press_at(120);
  stale.press_fresh = false;
  CHECK(floor.workshop->take({1, 1, 120, std::nullopt}, stale, "dan")->place == "/indicated");
  stale = floor.press_at(120);
  floor.clock.pass_ms(501);
  CHECK(floor.workshop->take({1, 1, 120, std::nullopt}, stale, "dan")->place == "/indicated");
  stale.press.link = ports::LinkState::lost;
  CHECK_FALSE(floor.workshop->take({1, 1, 120, 120.5}, stale, "dan"));  // typed off the press's display
}

TEST_CASE("a reading taken again replaces the first, which stays on record") {
  Floor floor;
  floor.go_through(0.2);
  REQUIRE_FALSE(floor.read(2, 3, 360, 361));
  REQUIRE_FALSE(floor.workshop->take({2, 0, 0, -0.2}, floor.press_at(0), "dan"));
  REQUIRE(floor.workshop->finish(floor.today + 1, "dan"));
  const auto kept = calibration::calibration_from_json(floor.record.kept[0].entry.body_json).value();
  CHECK(kept.runs[1].readings[2].cell_kn == 361);
  CHECK(kept.runs[1].zero->indicated_kn == -0.2);
  REQUIRE(kept.discarded.size() == 2);
  CHECK(kept.discarded[0].run == 2);
  CHECK(kept.discarded[0].step == 3);
  CHECK(kept.discarded[0].reading.cell_kn == Approx(360 / 1.002));
  CHECK(kept.discarded[1].step == 0);
}

TEST_CASE("a restart between two steps costs nothing") {
  Floor floor;
  REQUIRE_FALSE(floor.workshop->begin(Floor::good_begin()));
  REQUIRE_FALSE(floor.workshop->begin_run({90, 12}));
  REQUIRE_FALSE(floor.read(1, 1, 121, 120.5));
  floor.open();
  const auto now = floor.workshop->calibrating();
  REQUIRE(now.running);
  CHECK(now.running->runs[0].cell_angle_deg == 90);
  CHECK(now.running->runs[0].readings[0].indicated_kn == Approx(121));
  CHECK(now.asked.step == 2);
}

TEST_CASE("a file that a crash left in pieces is no calibration under way") {
  Floor floor;
  std::filesystem::create_directories(floor.folder / "workshop");
  std::ofstream(floor.folder / "workshop" / "force_calibration.json") << R"({"press":"press-1","cell":)";
  floor.open();
  CHECK_FALSE(floor.workshop->calibrating().running);
}

TEST_CASE("a calibration that is left stands on record with what was read, and changes no day") {
  Floor floor;
  REQUIRE_FALSE(floor.workshop->begin(Floor::good_begin()));
  REQUIRE_FALSE(floor.workshop->begin_run({0, std::nullopt}));
  REQUIRE_FALSE(floor.read(1, 1, 120, 100));
  REQUIRE_FALSE(floor.workshop->leave("the cell slipped", "dan"));
  REQUIRE(floor.record.kept.size() == 1);
  CHECK(floor.record.kept[0].entry.event == "force_calibration_left");
  CHECK(floor.record.kept[0].entry.body_json.find("the cell slipped") != std::string::npos);
  CHECK(floor.workshop->calibrations().until("press-1").value().day == floor.today + 10);
  CHECK_FALSE(floor.workshop->calibrating().running);
}

TEST_CASE("a record that cannot be written keeps the calibration under way") {
  Floor floor;
  floor.go_through(0.1);
  floor.record.broken = true;
  CHECK(floor.workshop->finish(floor.today + 5, "dan").problem().place == "record");
  CHECK(floor.workshop->calibrating().running);
  floor.record.broken = false;
  CHECK(floor.workshop->finish(floor.today + 5, "dan"));
}

TEST_CASE("what a calibration is begun with is looked at first") {
  Floor floor;
  const auto place = [&](auto&& change) {
    ForceBegin begin = Floor::good_begin();
    change(begin);
    return floor.workshop->begin(begin)->place;
  };
  CHECK(place([](auto& b) { b.cell = "caliper-1"; }) == "/cell");
  CHECK(place([](auto& b) { b.range_kn = 1472; }) == "/range");
  CHECK(place([](auto& b) { b.resolution_kn = 0; }) == "/resolution");
  CHECK(place([](auto& b) { b.class_needed = ForceClass::none; }) == "/class_needed");
  CHECK(place([](auto& b) { b.steps = 4; }) == "/steps");
  CHECK(place([](auto& b) { b.preloaded = false; }) == "/preloaded");
  floor.clock.pass_ms(86'400'000);  // the cell's last day was yesterday
  CHECK(place([](auto&) {}) == "/cell");
}

TEST_CASE("an older entry without what came later is still read, and one nobody can read stops the press") {
  Floor floor;
  ports::NewEntry entry;
  entry.kind = "station";
  entry.event = upkeep::calibrated_event;
  entry.body_json = R"({"press":"press-1","due_day":21000})";
  REQUIRE(floor.record.append({entry}));
  CHECK(floor.workshop->calibrations().until("press-1").value().day == 21000);
  entry.body_json = "{";
  REQUIRE(floor.record.append({entry}));
  CHECK_FALSE(floor.workshop->calibrations().until("press-1"));
}
