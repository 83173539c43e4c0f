#include "simulators/operator/fitting_run.hpp"

#include <fmt/format.h>

#include <thread>

namespace shankwright::demo {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr seconds fitting_time_most{240};
constexpr seconds bite_time_most{90};  // above the longest stroke time-out a recipe may have, and its dwell
constexpr int steps_most = 400;
constexpr int tries_most = 8;
constexpr int readings_before_another_part = 3;  // every third reading of a size is of another part
constexpr milliseconds poll{30};

// How far wrong the mistakes go; well outside every tolerance of the shipped recipes.
constexpr double rope_short_mm = 4.0;
constexpr double depth_mark_off_mm = 3.0;
constexpr double over_solid_mm = -3.0;
constexpr double die_wear_mm = 0.13;  // over size for the gauges, hardly seen in the force
constexpr double relief_share_of_target = 0.5;

/// Hands come off the press whatever happens.
class BothHands {
 public:
  explicit BothHands(BenchHand& bench) : bench_(bench) { bench_.hands(true); }
  BothHands(const BothHands&) = delete;
  BothHands& operator=(const BothHands&) = delete;
  ~BothHands() {
    try {
      let_go();
    } catch (const std::exception&) {
      // The bench has gone; so has the press.
    }
  }
  void let_go() {
    if (on_) bench_.hands(false);
    on_ = false;
  }

 private:
  BenchHand& bench_;
  bool on_ = true;
};

double number(const Json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_number() ? found->get<double>() : 0.0;
}

std::string first_and_count(const Json& findings) {
  if (findings.empty()) return "no reason given";
  const std::string first = findings.front().at("what");
  return findings.size() == 1 ? first : fmt::format("{} (and {} more)", first, findings.size() - 1);
}

}  // namespace

FittingRun::FittingRun(StationDesk& station, BenchHand& bench, Line& line, PressKnowledge& press,
                       Mistakes mistakes)
    : station_(station),
      bench_(bench),
      line_(line),
      press_(press),
      mistakes_(std::move(mistakes)),
      deadline_(Clock::now() + fitting_time_most) {}

Ending FittingRun::run(const Work& work, const std::string& job) {
  start(work, job);
  for (int count = 0; count < steps_most; ++count) {
    const std::string code = fitting_.at("next").at("code");
    if (code == "done" || code == "wait_for_reviewer") return finish();
    if (Clock::now() > deadline_) break;
    const std::string where = fmt::format("{} {} {} {}", code, fitting_.at("pass").dump(),
                                          fitting_.at("bite").dump(), fitting_.at("repeats").dump());
    if (++tries_[where] > tries_most)
      throw Stuck(fmt::format("\"{}\" did not succeed in {} tries",
                              fitting_.at("next").at("title").get<std::string>(), tries_most));
    const bool measuring = fitting_.at("stage") == "measure";
    if (measuring && tries_[where] % readings_before_another_part == 0) take_another_part();
    step(code);
    fitting_ = station_.fitting(serial_);
  }
  throw Stuck(fmt::format("no verdict within {} s", fitting_time_most.count()));
}

void FittingRun::start(const Work& work, const std::string& job) {
  work_ = work;
  const Answer answer = station_.start({{"recipe", work.recipe},
                                        {"job", job},
                                        {"rope_lot", work.rope_lot},
                                        {"terminal_lot", work.terminal_lot}});
  if (!answer.refused.empty()) throw Stuck("the station starts no fitting: " + answer.refused.front());
  fitting_ = answer.fitting;
  serial_ = fitting_.at("serial");
  line_.begin(serial_, work.recipe);

  if (take(Mistake::other_rope)) {
    const std::string construction = fitting_.at("drawing").at("construction");
    rope_ = construction == "1x19" ? "7x19" : "1x19";
    line_.mistake(fmt::format("{}: {} for {}", text_of(Mistake::other_rope), rope_, construction));
  }
  take_part();
  if (planned(Mistake::wrong_dies))
    bench_.mount(bench_.other_pair_than(work.die_pair));
  else
    mount_own_dies();
}

/// The pair with the right tag; worn, where that is planned, until the gauges have told.
void FittingRun::mount_own_dies() {
  if (planned(Mistake::worn_dies))
    bench_.mount_worn(work_.die_pair, die_wear_mm);
  else
    bench_.mount(work_.die_pair);
}

void FittingRun::take_part() {
  bench_.new_part(work_.recipe, rope_);
}

/// A terminal or rope that measures outside its limits again and again is set apart. What was measured on it
/// before is measured anew on the next, which must pass too: a reading of the old part would stand otherwise.
void FittingRun::take_another_part() {
  const Json before = fitting_.at("evidence");
  const auto again = [&](const char* known, const char* kind) {
    return !before.contains(known) || measure_and_give(kind);
  };
  for (int attempt = 0; attempt < tries_most; ++attempt) {
    take_part();
    line_.mistake("another terminal and rope end taken");
    if (again("rope_diameter_mm", "rope_diameter") && again("shank_diameter_mm", "shank_diameter")) return;
  }
  throw Stuck(fmt::format("{} parts measured outside their limits", tries_most));
}

void FittingRun::step(const std::string& code) {
  const Json& next = fitting_.at("next");
  if (code == "mark_depth") return mark_depth();
  if (code == "mark_boundary") {
    bench_.mark("boundary", number(fitting_.at("evidence"), "bore_depth_mm"));
    measure_and_give("boundary_mark");
    return;
  }
  if (code == "check_insertion") return check_insertion();
  if (code == "set_position") return set_position();
  if (code == "ask_permit") return ask_permit();
  if (code == "press_both_hands" || code == "wait_for_dies") return press();
  if (code == "wait_for_record") return wait_for(poll);
  if (code == "prove_angle" || code == "quarter_turn") return turn();
  if (code == "reseat") return reseat();
  if (code == "clear_fault") return clear_fault();
  if (code == "judge" || code == "release" || code == "resume") {
    const Answer answer = station_.act(serial_, code);
    if (!answer.refused.empty()) line_.event("", "refused", answer.refused.front());
    const bool again = code == "judge" && answer.fitting.is_object() && answer.fitting.at("stage") == "turn";
    if (again) {
      const bool worn = take(Mistake::worn_dies);
      line_.event(worn ? text_of(Mistake::worn_dies) : "", "to be pressed again",
                  first_and_count(answer.fitting.at("findings")));
      bench_.take_out();
      mount_own_dies();
    }
    return;
  }
  if (code == "gauge_go") bench_.take_out();
  if (next.at("input") == "") throw Stuck("the station asks for something unknown: " + code);
  measure_and_give(next.at("input"));
}

Ending FittingRun::finish() {
  const Json& evidence = fitting_.at("evidence");
  const std::string verdict = fitting_.at("verdict");
  if (verdict == "accepted") {
    const bool again = number(fitting_, "re_presses") > 0;
    const Ending ending = again ? Ending::re_pressed : Ending::accepted;
    line_.end(ending,
              fmt::format("{}, AF {:.2f} mm, growth {:.1f} %", again ? " and accepted" : "",
                          number(evidence, "across_flats_most_mm"), number(evidence, "growth") * 100),
              fitting_);
    return ending;
  }
  const Ending ending = verdict == "scrapped" ? Ending::scrapped : Ending::held;
  line_.end(ending, fmt::format(" \"{}\"", first_and_count(fitting_.at("standing"))), fitting_);
  return ending;
}

void FittingRun::mark_depth() {
  const bool wrong = take(Mistake::depth_mark_wrong);
  bench_.mark("depth", number(fitting_.at("evidence"), "bore_depth_mm") + (wrong ? depth_mark_off_mm : 0.0));
  measure_and_give("depth_mark", wrong ? text_of(Mistake::depth_mark_wrong) : "");
}

void FittingRun::check_insertion() {
  const bool wrong = take(Mistake::rope_not_home);
  bench_.insert(wrong ? rope_short_mm : 0.0);
  measure_and_give("insertion", wrong ? text_of(Mistake::rope_not_home) : "");
}

void FittingRun::set_position() {
  if (take(Mistake::dies_over_solid)) return place(over_solid_mm, text_of(Mistake::dies_over_solid));
  place(number(fitting_, "planned_edge_mm"));
}

void FittingRun::place(double edge_mm, std::string_view mistake) {
  if (number(fitting_, "bites_done") == 0 && mistake.empty()) first_edge_mm_ = edge_mm;
  bench_.position(edge_mm);
  station_.let_the_press_be_seen();
  measure_and_give("position", mistake);
}

void FittingRun::ask_permit() {
  if (planned(Mistake::guard_open)) {
    bench_.guard(false);
    station_.let_the_press_be_seen();
  }
  const Answer answer = station_.act(serial_, "permit");
  for (std::size_t i = 0; i < answer.refused.size(); ++i) {
    const std::string& code = answer.codes[i];
    std::string_view because;
    if (code == "guard_open" && take(Mistake::guard_open)) because = text_of(Mistake::guard_open);
    if (code == "die_tag_other" && take(Mistake::wrong_dies)) because = text_of(Mistake::wrong_dies);
    line_.event(because, "refused", answer.refused[i]);
  }
  for (const std::string& code : answer.codes) mend(code);
  if (!answer.codes.empty()) station_.let_the_press_be_seen();
}

/// What the operator does about one reason against a permit.
void FittingRun::mend(const std::string& code) {
  if (code == "guard_open") return bench_.guard(true);
  if (code == "emergency_circuit_open") return bench_.emergency_circuit(true);
  if (code == "press_in_local_control") return bench_.remote(true);
  if (code == "press_faulted") return clear_fault();
  if (code == "die_tag_other") {
    bench_.take_out();
    mount_own_dies();
    return place(number(fitting_, "planned_edge_mm"));
  }
  if (code == "mark_sensor_sees_no_mark") {
    bench_.insert(0);
    measure_and_give("insertion");
    return;
  }
  if (code == "angle_moved") {
    const double now_deg = number(station_.now().at("press"), "angle_deg");
    return bench_.turn(number(fitting_.at("evidence"), "angle_deg") - now_deg);
  }
  for (const char* misplaced :
       {"die_over_solid", "die_off_position", "bore_left_unswaged", "no_shank_in_dies", "overlap_too_small",
        "position_unproven", "position_disagrees_with_sensor"})
    if (code == misplaced) return place(number(fitting_, "planned_edge_mm"));
  wait_for(milliseconds(200));  // evidence that is too old, dies not home yet: time mends it
}

/// Two mistakes that no check before the bite can find: the trace and the press must show them.
void FittingRun::make_what_the_trace_must_show() {
  if (take(Mistake::rope_pulled_out)) {
    bench_.pull_out();
    line_.mistake(text_of(Mistake::rope_pulled_out));
  }
  if (press_.bar_per_kn > 0 && take(Mistake::relief_valve_low)) {
    const double bar = number(fitting_, "target_force_kn") * press_.bar_per_kn * relief_share_of_target;
    bench_.relief_valve(bar);
    line_.mistake(fmt::format("{} ({:.0f} bar)", text_of(Mistake::relief_valve_low), bar));
  }
}

bool FittingRun::bite_open() const {
  const Json& stage = fitting_.at("stage");
  return stage == "permit_recorded" || stage == "permit_given" || stage == "biting";
}

/// The press wants both hands pressed after it has taken the permit, not before.
void FittingRun::wait_until_permitted() {
  constexpr int polls_most = 200;
  for (int count = 0; count < polls_most && bite_open(); ++count) {
    if (station_.now().at("press").at("phase") == "permitted") return;
    wait_for(poll);
    fitting_ = station_.fitting(serial_);
  }
}

void FittingRun::press() {
  wait_until_permitted();
  if (!bite_open()) return;
  bool let_go_early = take(Mistake::hands_let_go);
  const std::string_view mistake = let_go_early ? text_of(Mistake::hands_let_go) : "";
  if (!let_go_early) make_what_the_trace_must_show();
  BothHands hands(bench_);
  const auto until = Clock::now() + bite_time_most;
  while (bite_open()) {
    if (Clock::now() > until)
      throw Stuck(fmt::format("the bite did not end within {} s", bite_time_most.count()));
    wait_for(poll);
    const Json now = station_.now();
    const Json& press = now.at("press");
    if (number(press, "force_kn") > 10)
      press_.bar_per_kn = number(press, "pressure_bar") / number(press, "force_kn");
    if (let_go_early && press.at("phase") == "closing") {
      hands.let_go();
      let_go_early = false;
    }
    const Json& active = now.at("active");
    fitting_ = active.is_object() && active.at("serial") == serial_ ? active : station_.fitting(serial_);
  }
  hands.let_go();
  if (fitting_.at("stage") == "position" && !fitting_.at("findings").empty())
    line_.event(mistake, "bite not counted", first_and_count(fitting_.at("findings")));
}

void FittingRun::turn() {
  const bool forgotten = take(Mistake::turn_forgotten);
  if (!forgotten) bench_.turn(90);
  angle_evidence("turn", forgotten ? text_of(Mistake::turn_forgotten) : "");
}

void FittingRun::reseat() {
  bench_.position(first_edge_mm_);
  angle_evidence("reseated");
}

void FittingRun::angle_evidence(const std::string& kind, std::string_view mistake) {
  station_.let_the_press_be_seen();
  if (station_.now().at("press").at("angle_encoder_fitted") == true)
    give({{"kind", kind}}, mistake);
  else
    measure_and_give(kind, mistake);
}

void FittingRun::clear_fault() {
  leave_the_press_ready(station_, bench_);
}

bool FittingRun::measure_and_give(const std::string& kind, std::string_view mistake) {
  return give(bench_.measure(kind, station_.gauge_for(kind)), mistake);
}

bool FittingRun::give(const Json& evidence, std::string_view mistake) {
  const Answer answer = station_.evidence(serial_, evidence);
  if (!answer.refused.empty()) line_.event(mistake, "refused", answer.refused.front());
  if (answer.fitting.is_object()) fitting_ = answer.fitting;
  return answer.refused.empty();
}

bool FittingRun::take(Mistake mistake) {
  return mistakes_.erase(mistake) != 0;
}

void FittingRun::wait_for(milliseconds time) const {
  std::this_thread::sleep_for(time);
}

void leave_the_press_ready(StationDesk& station, BenchHand& bench) {
  constexpr int tries_to_clear = 100;
  bench.hands(false);
  bench.restore_relief_valve();
  for (int attempt = 0; attempt < tries_to_clear; ++attempt) {
    station.let_the_press_be_seen();
    const Json press = station.now().at("press");
    if (press.at("phase") == "open" && press.at("fault_code") == 0) return;
    if (press.at("phase") == "faulted" && press.at("dies_home") == true) station.press_order("clear-fault");
    std::this_thread::sleep_for(milliseconds(100));
  }
  throw Stuck("the press does not come back to open dies without a fault");
}

}  // namespace shankwright::demo
