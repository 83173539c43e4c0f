#include "sample_record.hpp"

#include <cmath>

#include "library/library.hpp"

namespace shankwright::review_test {

recipe::JoinedRecipe sample_recipe() {
  recipe::JoinedRecipe joined;
  joined.rope = {.id = "rope-7x19-4.8",
                 .construction = recipe::Construction::rope_7x19,
                 .nominal_diameter_mm = 4.76,
                 .diameter_mm = {4.76, 5.0},
                 .metallic_area_factor = 0.418,
                 .minimum_breaking_force_kn = 17.8,
                 .material = "stainless steel",
                 .source = "demo data"};
  joined.terminal = {.id = "terminal-4.8",
                     .shank_diameter_mm = {9.07, 9.17},
                     .bore_diameter_mm = 5.16,
                     .bore_depth_mm = {50, 54},
                     .swage_length_mm = 44,
                     .material = "stainless steel",
                     .source = "demo data"};
  joined.die_pair = {.id = "die-7.95",
                     .tag = 101,
                     .shape = recipe::DieShape::hexagon,
                     .across_flats_mm = 7.95,
                     .length_mm = 50,
                     .rated_force_kn = 1400,
                     .life_strokes = 50000,
                     .source = "demo data"};
  joined.press.id = "press-1";
  joined.press.ram_area_mm2 = 20000;
  auto& recipe = joined.recipe;
  recipe.id = "hexagon-4.8";
  recipe.revision = 3;
  recipe.status = recipe::Status::released;
  recipe.family = "straight-shank-hexagon";
  recipe.rope = joined.rope.id;
  recipe.terminal = joined.terminal.id;
  recipe.die_pair = joined.die_pair.id;
  recipe.press = joined.press.id;
  recipe.passes = 2;
  recipe.target_force_kn = 560;
  recipe.dwell_ms = 300;
  recipe.closed_gap_mm = 0.05;
  recipe.peak_force_kn = {540, 600};
  recipe.envelope = {{{0.5, {300, 420}}, {0.2, {400, 520}}}, {{0.2, {380, 540}}}};
  recipe.across_flats_mm = {7.9, 8.05};
  recipe.growth_fraction = {0.1, 0.19};
  recipe.straightness_mm_max = 0.3;
  recipe.slip_mm_max = 0.5;
  recipe.re_presses_max = 1;
  return joined;
}

// Closing from 3 mm, force rising to the target, a dwell, opening.
std::vector<ports::Sample> sample_trace(double target_bar, double closed_mm, std::uint32_t hole_after) {
  std::vector<ports::Sample> out;
  for (std::uint32_t index = 0; index < 300; ++index) {
    const double closing = std::min(1.0, index / 180.0);
    const double gap = closing < 1   ? 3 - (3 - closed_mm) * closing
                       : index < 240 ? closed_mm
                                     : closed_mm + (index - 239) * 0.05;
    const double rise = gap > 2.2 ? 0.02 : std::pow((2.2 - gap) / (2.2 - closed_mm), 0.8);
    const double pressure = index < 240 ? target_bar * rise : 5;
    if (hole_after > 0 && index > hole_after && index <= hole_after + 10) continue;
    out.push_back({index * 2, std::round(pressure * 10) / 10, std::round(gap * 1000) / 1000});
  }
  return out;
}

namespace {

constexpr std::int64_t start_us = 1'932'732'000'000'000;  // 2031-03-31T14:00:00Z

class Author {
 public:
  Author(record::SqliteStore& store, std::int64_t at_us) : store_(store), at_us_(at_us) {}

  std::string begin(const std::string& job) {
    serial_ = store_.reserve_serial(at_us_).value();
    ports::FittingRow row;
    row.serial = serial_;
    row.recipe_id = "hexagon-4.8";
    row.recipe_revision = 3;
    row.job = job;
    row.operator_id = "demo-operator";
    row.rope_lot = "rope-lot-7";
    row.terminal_lot = "terminal-lot-2";
    row.die_pair_id = "die-7.95";
    row.started_utc_us = at_us_;
    row.joined_recipe_json = library::to_json(sample_recipe());
    (void)store_
        .open_fitting(row, entry("evidence", "admit", R"({"event":{"operator_signed_in":true}})", "measure"))
        .value();
    return serial_;
  }

  void say(const char* kind, const char* event, const std::string& body, const char* stage,
           const std::string& more = "", std::vector<ports::Sample> trace = {}) {
    at_us_ += 12'345'678;
    auto next = entry(kind, event, body, stage, more);
    next.trace = std::move(trace);
    (void)store_.append({next}).value();
  }

  std::string actor = "demo-operator";

 private:
  ports::NewEntry entry(const char* kind, const char* event, const std::string& body,
                        const std::string& stage, const std::string& more = "") const {
    ports::NewEntry out;
    out.at_utc_us = at_us_;
    out.serial = serial_;
    out.kind = kind;
    out.event = event;
    out.actor = actor;
    out.body_json = body;
    out.state_json = R"({"stage":")" + stage + "\"" + more + "}";
    out.stage = stage;
    return out;
  }

  record::SqliteStore& store_;
  std::int64_t at_us_;
  std::string serial_;
};

std::string bite_body(int pass, const std::string& event, const std::string& findings = "[]") {
  return R"({"event":)" + event + R"(,"findings":)" + findings + R"(,"pass":)" + std::to_string(pass) +
         R"(,"bite":1})";
}

constexpr auto good_first =
    R"({"token":7,"fault_code":0,"fault":"none","trace_present":true,"samples_missing":0,"peak_pressure_bar":280.0,)"
    R"("trace_peak_pressure_bar":280.0,"peak_force_kn":560.0,"dwell_ms":302.0,"least_gap_mm":0.02,)"
    R"("force_at_envelope_gaps_kn":[372.4,498.123456]})";
constexpr auto good_second =
    R"({"token":9,"fault_code":0,"fault":"none","trace_present":true,"samples_missing":0,"peak_pressure_bar":281.0,)"
    R"("peak_force_kn":562.0,"dwell_ms":304.0,"least_gap_mm":0.018,"force_at_envelope_gaps_kn":[455.0]})";

std::string write_accepted(record::SqliteStore& store) {
  Author author(store, start_us);
  const auto serial = author.begin("job-41");
  author.say("evidence", "rope_diameter",
             R"({"event":{"readings_mm":[4.81,4.8,4.82],"tool":{"known":true}},"gauge":"caliper-1"})",
             "measure");
  author.say("evidence", "shank_diameter", R"({"event":{"value_mm":9.12},"gauge":"micrometer-1"})",
             "measure");
  author.say("refused", "insertion",
             R"({"event":{"mark_to_mouth_mm":2.4},"gauge":"rule-1","findings":)"
             R"([{"code":"rope_not_home","found":2.4,"least":-0.8,"most":0.8}]})",
             "insert");
  author.say("evidence", "insertion", R"({"event":{"mark_to_mouth_mm":0.1},"gauge":"caliper-1"})",
             "position");
  author.actor = "station";
  author.say(
      "finding", "bite_finished",
      bite_body(1, R"({"fault_code":3,"fault":"hands released","samples_missing":0,"peak_force_kn":210.0})",
                R"([{"code":"hands_released","found":3,"least":0,"most":0}])"),
      "position", "", sample_trace(105, 1.3));
  author.say("evidence", "bite_finished", bite_body(1, good_first), "turn", "", sample_trace(280, 0.02));
  author.actor = "demo-operator";
  author.say("evidence", "turn",
             R"({"event":{"angle_deg":90.2,"press":{"fresh":true}},"gauge":"protractor-1"})", "position");
  author.actor = "station";
  const auto judged = R"({"accepted_force":[{"gap_mm":0.2,"force_kn":{"least":334.4,"most":475.2}}],)";
  author.say("evidence", "bite_finished", judged + bite_body(2, good_second).substr(1), "gauge", "",
             sample_trace(281, 0.018));
  author.actor = "demo-operator";
  author.say("evidence", "across_flats",
             R"({"event":{"stations_mm":[[7.97,7.98,7.97],[7.98,7.98,7.99]]},"gauge":"micrometer-1"})",
             "gauge");
  author.say("evidence", "go_gauge", R"({"event":{"result":"passes"}})", "gauge");
  author.say("verdict", "judge", R"({"event":{}})", "accepted", R"(,"re_presses":1)");
  author.say("verdict", "release", R"({"event":{"operator_signed_in":true}})", "released",
             R"(,"re_presses":1)");
  return serial;
}

std::string write_held(record::SqliteStore& store) {
  Author author(store, start_us + 86'400'000'000);
  const auto serial = author.begin("job-42");
  author.actor = "station";
  author.say(
      "verdict", "bite_finished",
      bite_body(1, R"({"samples_missing":10,"peak_force_kn":560.0,"dwell_ms":302.0,"least_gap_mm":0.02})",
                R"([{"code":"trace_has_hole","found":10,"least":0,"most":0}])"),
      "hold", R"(,"standing":[{"code":"trace_has_hole","found":10,"least":0,"most":0}])",
      sample_trace(280, 0.02, 90));
  return serial;
}

std::string write_begun(record::SqliteStore& store) {
  Author author(store, start_us + 2 * 86'400'000'000);
  const auto serial = author.begin("job-43");
  author.say("evidence", "note", "no JSON at all \x1b[2J", "measure");
  author.say("refused", "slip",
             R"({"findings":[{"code":"from_a_later_version","found":1}],"reason":"as found","note":"n"})",
             "measure");
  author.say("evidence", "bite_finished", R"({"event":{}})", "measure");
  return serial;
}

}  // namespace

SampleSerials write_sample(record::SqliteStore& store) {
  SampleSerials out;
  out.accepted = write_accepted(store);
  out.held = write_held(store);
  out.begun = write_begun(store);
  out.given = store.reserve_serial(start_us).value();
  return out;
}

}  // namespace shankwright::review_test
