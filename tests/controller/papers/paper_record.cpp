#include "paper_record.hpp"

#include <nlohmann/json.hpp>

#include "../review/sample_record.hpp"
#include "library/library.hpp"

namespace shankwright::papers_test {
namespace {

using nlohmann::json;

constexpr std::int64_t start_us = 1'932'732'000'000'000;  // 2031-03-31T14:00:00Z
constexpr auto due = "2031-12-31";

class Teller {
 public:
  Teller(record::SqliteStore& store, const Story& story) : store_(store), story_(story) {}

  std::string tell() {
    begin();
    before_pressing();
    press(1);
    say("evidence", "turn", {{"event", {{"angle_deg", 90.2}}}, {"gauge", "protractor-1"}, {"pass", 1}},
        "position");
    press(2);
    gauge(story_.re_pressed ? 8.11 : 7.97);
    if (story_.re_pressed) {
      say("finding", "judge",
          {{"event", json::object()},
           {"findings", {{{"code", "across_flats_over"}, {"found", 8.12}, {"least", 7.9}, {"most", 8.05}}}}},
          "turn");
      re_presses_ = 1;
      press(3);
      gauge(7.97);
    }
    if (story_.corrected) correct();
    if (story_.proof_load)
      say("evidence", "proof_load",
          {{"event", {{"load_kn", 9.1}, {"held_s", 62.0}, {"slip_mm", 0.04}}}, {"gauge", "load-cell-1"}},
          "gauge");
    end();
    return serial_;
  }

 private:
  void begin() {
    serial_ = store_.reserve_serial(start_us).value();
    auto joined = review_test::sample_recipe();
    joined.recipe.mark_tolerance_mm = 0.5;
    joined.recipe.insertion_tolerance_mm = 0.8;
    joined.recipe.turn_tolerance_deg = 3;
    joined.recipe.source = story_.recipe_source;
    if (story_.proof_load) joined.recipe.proof = recipe::ProofTest{8.9, 60, 0.1};
    using recipe::GaugeKind;
    joined.measuring_gauges = {{"caliper-1", GaugeKind::caliper, 0.01, 0.03, {}, "demo data"},
                               {"micrometer-1", GaugeKind::micrometer, 0.001, 0.004, {}, "demo data"},
                               {"protractor-1", GaugeKind::protractor, 0.5, 1.0, {}, "demo data"}};
    joined.go_gauge = {"go-8.05", GaugeKind::go_gap, 0, 0, 8.05, "demo data"};
    joined.no_go_gauge = {"no-go-7.90", GaugeKind::no_go_gap, 0, 0, 7.9, "demo data"};
    ports::FittingRow row;
    row.serial = serial_;
    row.recipe_id = "hexagon-4.8";
    row.recipe_revision = 3;
    row.job = story_.job;
    row.operator_id = story_.operator_id;
    row.rope_lot = story_.rope_lot;
    row.terminal_lot = story_.terminal_lot;
    row.die_pair_id = "die-7.95";
    row.started_utc_us = start_us;
    row.joined_recipe_json = library::to_json(joined);
    const json body{
        {"event", {{"operator_signed_in", true}}},
        {"register",
         {{"operator",
           {{"id", story_.operator_id}, {"name", story_.operator_name}, {"qualified_until", "2032-02-29"}}},
          {"die_pair",
           {{"id", "die-7.95"},
            {"serial", "D-1188"},
            {"strokes", 12345},
            {"life_strokes", 50000},
            {"inspection_due", "2031-09-30"}}},
          {"press", {{"id", "press-1"}, {"calibration_due", "2031-11-15"}}},
          {"rope_lot", {{"id", story_.rope_lot}, {"certificate", "RC-5520"}}},
          {"terminal_lot", {{"id", story_.terminal_lot}, {"certificate", "TC-0091"}}}}}};
    first_ = store_.open_fitting(row, entry("evidence", "admit", body, "measure")).value();
  }

  void before_pressing() {
    read("rope_diameter", {{"readings_mm", {4.81, 4.8, 4.82}}}, "caliper-1", "measure");
    shank_entry_ = read("shank_diameter", {{"value_mm", 9.12}}, "micrometer-1", "measure");
    read("bore_depth", {{"value_mm", 52.1}}, "caliper-1", "mark");
    read("depth_mark", {{"from_rope_end_mm", 52.2}}, "caliper-1", "mark");
    read("boundary_mark", {{"from_mouth_mm", 52.0}}, "caliper-1", "insert");
    read("insertion", {{"mark_to_mouth_mm", 0.1}}, "caliper-1", "position");
  }

  void press(int pass) {
    const json body{{"event",
                     {{"fault_code", 0},
                      {"samples_missing", 0},
                      {"peak_pressure_bar", 280.0},
                      {"peak_force_kn", 560.0},
                      {"dwell_ms", 302.0},
                      {"least_gap_mm", 0.02},
                      {"force_at_envelope_gaps_kn", {372.4, 498.123456}}}},
                    {"accepted_force",
                     {{{"gap_mm", 0.5}, {"force_kn", {{"least", 300.0}, {"most", 420.0}}}},
                      {{"gap_mm", 0.2}, {"force_kn", {{"least", 400.0}, {"most", 520.0}}}}}},
                    {"pass", pass},
                    {"bite", 1}};
    auto next = entry("evidence", "bite_finished", body, "turn");
    next.actor = "station";
    next.trace = review_test::sample_trace(280, 0.02);
    (void)store_.append({next}).value();
  }

  void gauge(double flats_mm) {
    read("go_gauge", {{"result", "passes"}}, "go-8.05", "gauge");
    read("no_go_gauge", {{"result", "stops"}}, "no-go-7.90", "gauge");
    read("across_flats",
         {{"stations_mm", {{flats_mm, flats_mm + 0.01, flats_mm}, {flats_mm, flats_mm, flats_mm + 0.02}}},
          {"tool", {{"expanded_uncertainty_mm", 0.004}}}},
         "micrometer-1", "gauge");
    read("growth", {{"boundary_to_mouth_mm", 58.16}}, "caliper-1", "gauge");
    read("slip", {{"mark_to_mouth_mm", -5.9}}, "caliper-1", "gauge");
    read("straightness", {{"value_mm", 0.05}}, "caliper-1", "gauge");
    say("evidence", "surface", {{"event", {{"result", "sound"}}}}, "gauge");
  }

  void correct() {
    auto next = entry("correction", "corrected",
                      {{"of", shank_entry_},
                       {"text", "The shank read 9.13 mm, not 9.12 mm."},
                       {"reason", "misread, seen in the video"}},
                      "");
    next.actor = "demo-reviewer";
    next.state_json = "";
    (void)store_.append({next}).value();
  }

  void end() {
    std::vector<ports::NewEntry> last;
    if (story_.held_and_used_as_is) {
      say("verdict", "judge",
          {{"event", json::object()},
           {"findings", {{{"code", "growth_low"}, {"found", 0.09}, {"least", 0.1}, {"most", 0.19}}}}},
          "hold");
      if (!story_.released) return;
      if (story_.two_persons) {
        auto first = entry("evidence", "dispose",
                           {{"event", {{"disposition", "use_as_is"}, {"proposed", true}}},
                            {"reason", "proposed: " + story_.reason},
                            {"signed", true}},
                           "hold");
        first.actor = "first-reviewer";
        (void)store_.append({first}).value();
      }
      last = {entry("verdict", "dispose",
                    {{"event", {{"disposition", "use_as_is"}}}, {"reason", story_.reason}, {"signed", true}},
                    "released")};
      last.back().actor = "demo-reviewer";
    } else {
      say("verdict", "judge", {{"event", json::object()}}, "accepted");
      if (!story_.released) return;
      last = {entry("verdict", "release", {{"event", {{"operator_signed_in", true}}}}, "released")};
    }
    if (story_.sealed)
      (void)store_.append_and_seal(last, "release").value();
    else
      (void)store_.append(last).value();
  }

  std::int64_t read(const char* event, json fields, const char* gauge, const char* stage) {
    return say("evidence", event,
               {{"event", std::move(fields)}, {"gauge", gauge}, {"gauge_calibration_due", due}, {"pass", 1}},
               stage);
  }

  std::int64_t say(const char* kind, const char* event, const json& body, const char* stage) {
    return store_.append({entry(kind, event, body, stage)}).value();
  }

  ports::NewEntry entry(const char* kind, const char* event, const json& body, const char* stage) {
    at_us_ += 12'345'678;
    ports::NewEntry out;
    out.at_utc_us = at_us_;
    out.serial = serial_;
    out.kind = kind;
    out.event = event;
    out.actor = story_.operator_id;
    out.body_json = body.dump(-1, ' ', false, json::error_handler_t::replace);
    out.stage = stage;
    if (*stage != '\0') out.state_json = json{{"stage", stage}, {"re_presses", re_presses_}}.dump();
    return out;
  }

  record::SqliteStore& store_;
  const Story& story_;
  std::int64_t at_us_ = start_us, first_ = 0, shank_entry_ = 0;
  int re_presses_ = 0;
  std::string serial_;
};

}  // namespace

std::string write_fitting(record::SqliteStore& store, const Story& story) {
  return Teller(store, story).tell();
}

void quarantine(record::SqliteStore& store, const std::string& rope_lot, bool lifted) {
  ports::NewEntry entry;
  entry.at_utc_us = start_us + 86'400'000'000;
  entry.kind = "station";
  entry.event = lifted ? "quarantine_lifted" : "quarantined";
  entry.actor = "demo-reviewer";
  entry.body_json = json{
      {"item", "rope_lot"},
      {"id", rope_lot},
      {"reason", lifted ? "found sound" : "broken wires found in another job"},
      {"held", json::array()},
      {"released_count",
       1}}.dump();
  (void)store.append_and_seal({entry}, "shift_end").value();
}

}  // namespace shankwright::papers_test
