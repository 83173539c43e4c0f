#pragma once
#include <spdlog/spdlog.h>

#include "../procedure/bench_recipe.hpp"
#include "fakes.hpp"
#include "procedure/expectation.hpp"
#include "station/station.hpp"

namespace shankwright::tests {

/// A shop with one operator, one reviewer, one recipe, and everything in date. Invented.
struct ShopFloor {
  HandClock clock;
  ScriptedPress press{clock};
  MemoryStore store;
  library::Library library;
  library::Shop shop;
  std::unique_ptr<people::FixedPeople> people;
  std::unique_ptr<station::Station> station;
  std::string serial;

  ShopFloor() {
    recipe::JoinedRecipe j = bench_recipe();
    j.recipe.rope = j.rope.id;
    j.recipe.terminal = j.terminal.id;
    j.recipe.die_pair = j.die_pair.id;
    j.recipe.press = j.press.id;
    j.recipe.family = "family";
    j.recipe.turn_tolerance_deg = 5;
    j.recipe.go_gauge = "go";
    j.recipe.no_go_gauge = "no-go";
    j.recipe.measuring_gauges = {"caliper", "depth-rod", "protractor", "straight-edge", "load-cell"};
    j.die_pair.life_strokes = 1000;
    library.ropes[j.rope.id] = j.rope;
    library.terminals[j.terminal.id] = j.terminal;
    library.die_pairs[j.die_pair.id] = j.die_pair;
    library.presses[j.press.id] = j.press;
    library.recipes[j.recipe.id] = j.recipe;
    const auto gauge = [&](const char* id, recipe::GaugeKind kind, double uncertainty) {
      library.gauges[id] = {id, kind, 0.01, uncertainty, std::nullopt, "test"};
      shop.gauge_calibration_due_day[id] = 100'000;
    };
    gauge("caliper", recipe::GaugeKind::caliper, 0.01);
    gauge("depth-rod", recipe::GaugeKind::depth_rod, 0.1);
    gauge("protractor", recipe::GaugeKind::protractor, 0.5);
    gauge("straight-edge", recipe::GaugeKind::straight_edge, 0.02);
    gauge("load-cell", recipe::GaugeKind::load_cell, 0.1);
    gauge("go", recipe::GaugeKind::go_gap, 0);
    gauge("no-go", recipe::GaugeKind::no_go_gap, 0);
    library.gauges["go"].size_mm = 8.10;
    library.gauges["no-go"].size_mm = 7.90;
    library::Person operating{"ada", "Ada", true, false, false, false, {{"family", 100'000}}};
    library::Person reviewing{"rev", "Rev", false, false, false, true, {}};
    library::Person second = reviewing;
    second.id = "sue";
    library::Person tending{"tec", "Tec", false, true, false, false, {}};
    shop.people = {{"ada", operating}, {"rev", reviewing}, {"sue", second}, {"tec", tending}};
    for (const char* id : {"R1", "R2"})
      shop.rope_lots[id] = {id, "rope", false, "certificate of " + std::string(id)};
    for (const char* id : {"T1", "T2"}) shop.terminal_lots[id] = {id, "terminal", false, ""};
    shop.die_pairs["dies"] = {"D-1", 100'000, 0};
    shop.press_calibration_due_day["press"] = 100'000;
    spdlog::set_level(spdlog::level::off);
    if (auto opened = open(); !opened) throw std::runtime_error(opened.problem().text());
  }

  /// A station process starts (again) on the same record.
  Result<int> open() {
    people = std::make_unique<people::FixedPeople>(shop.people);
    station = std::make_unique<station::Station>(station::StationOptions{"press"}, clock, press, store,
                                                 library, shop, *people);
    return station->recover();
  }

  /// What the press resists with when a sound part is in it: inside the bench recipe's envelope at its gap of
  /// 0.5 mm.
  [[nodiscard]] std::function<double(double)> sound_part() const {
    const auto view = station->fitting(serial);
    const double share =
        procedure::engaged_length_mm(view->state, view->state.edge_mm.value_or(0), view->joined) /
        view->joined.die_pair.length_mm;
    return [share](double gap_mm) { return share * (100 + 20 * (0.5 - gap_mm)); };
  }

  ports::ActResult start(const std::string& rope_lot = "R1", const std::string& terminal_lot = "T1") {
    press.scan();
    station->tick(0);
    auto result = station->start_fitting({"recipe", "job 1", rope_lot, terminal_lot, "ada"});
    if (result.fitting) serial = result.fitting->serial;
    return result;
  }
  ports::ActResult act(procedure::Event event, const std::string& gauge = "",
                       const std::string& actor = "ada", const std::string& reason = "",
                       bool signed_with_pin = false) {
    press.scan();
    return station->act({serial, std::move(event), gauge, actor, reason, signed_with_pin});
  }
  ports::ActResult dispose(procedure::Disposition disposition, const std::string& actor = "rev") {
    procedure::Dispose event;
    event.disposition = disposition;
    return act(event, "", actor, "as the drawing says", true);
  }
  ports::ActResult pull(double load_kn, double held_s, double slip_mm) {
    return act(procedure::ProofLoad{load_kn, held_s, slip_mm, {}}, "load-cell");
  }
  ports::ActResult place_next() {
    const double edge_mm = station->fitting(serial)->planned_edge_mm;
    return act(procedure::Position{edge_mm, {}, {}}, "caliper");
  }
  void up_to_position() {
    start();
    prepare();
  }
  void prepare() {
    act(procedure::RopeDiameter{{4.8, 4.81}, {}}, "caliper");
    act(procedure::ShankDiameter{9.1, {}}, "caliper");
    act(procedure::BoreDepth{32, {}}, "depth-rod");
    act(procedure::DepthMark{32.1, {}}, "caliper");
    act(procedure::BoundaryMark{31.9, {}}, "caliper");
    act(procedure::Insertion{0.1, {}}, "caliper");
  }
  ports::ActResult permit() { return act(procedure::RequestPermit{}); }
  /// Position, permit, bite. Returns the stage after it.
  procedure::Stage good_bite() {
    place_next();
    permit();
    press.play_bite(sound_part(), 20000);
    station->tick(0);
    return stage();
  }
  void both_passes() {
    good_bite();
    good_bite();
    act(procedure::Turn{90, {}, {}}, "protractor");
    good_bite();
    good_bite();
  }
  void gauge_well() {
    act(procedure::GoGauge{procedure::Limit::passes, {}});
    act(procedure::NoGoGauge{procedure::Limit::stops, {}});
    act(procedure::AcrossFlats{{{8.0, 8.01, 8.0}}, {}}, "caliper");
    act(procedure::Growth{35.0, {}}, "caliper");
    act(procedure::Slip{-3.0, {}}, "caliper");
    act(procedure::Straightness{0.05, {}}, "straight-edge");
    act(procedure::SurfaceSeen{procedure::Surface::sound});
  }
  [[nodiscard]] procedure::Stage stage() const { return station->fitting(serial)->state.stage; }
  [[nodiscard]] procedure::Code held_for() const {
    const auto& standing = station->fitting(serial)->state.standing;
    return standing.empty() ? procedure::Code::none : standing.front().code;
  }
};

}  // namespace shankwright::tests
