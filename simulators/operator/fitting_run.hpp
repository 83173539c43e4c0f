#pragma once
#include <chrono>
#include <map>
#include <string>

#include "simulators/operator/bench_hand.hpp"
#include "simulators/operator/mistakes.hpp"
#include "simulators/operator/report.hpp"
#include "simulators/operator/station_desk.hpp"
#include "simulators/operator/work.hpp"

namespace shankwright::demo {

/// What the operator learns about the press by watching: needed to set a relief valve low enough.
struct PressKnowledge {
  double bar_per_kn = 0;  ///< 0 until a bite was seen
};

/// One fitting from the first measurement to its verdict: does what the station's `next` says, at the bench,
/// and posts what was measured. Ends for certain: tries per step, steps and time are bounded.
class FittingRun {
 public:
  FittingRun(StationDesk& station, BenchHand& bench, Line& line, PressKnowledge& press, Mistakes mistakes);

  /// The ending, with the line ended too. Throws Stuck when it cannot be brought to a verdict.
  Ending run(const Work& work, const std::string& job);
  [[nodiscard]] const std::string& serial() const { return serial_; }

 private:
  using Clock = std::chrono::steady_clock;

  void start(const Work& work, const std::string& job);
  void take_part();
  void take_another_part();
  void step(const std::string& code);
  [[nodiscard]] Ending finish();

  // The steps, by next.code.
  void mark_depth();
  void check_insertion();
  void set_position();
  void ask_permit();
  void press();
  void wait_until_permitted();
  void turn();
  void reseat();
  void clear_fault();

  /// True when the station took it.
  bool measure_and_give(const std::string& kind, std::string_view mistake = {});
  bool give(const Json& evidence, std::string_view mistake = {});
  void place(double edge_mm, std::string_view mistake = {});
  void mend(const std::string& code);
  void angle_evidence(const std::string& kind, std::string_view mistake = {});
  void mount_own_dies();
  [[nodiscard]] bool take(Mistake mistake);  ///< true once, when it was planned
  [[nodiscard]] bool planned(Mistake mistake) const { return mistakes_.count(mistake) != 0; }
  void make_what_the_trace_must_show();
  void wait_for(std::chrono::milliseconds time) const;
  [[nodiscard]] bool bite_open() const;

  StationDesk& station_;
  BenchHand& bench_;
  Line& line_;
  PressKnowledge& press_;
  Mistakes mistakes_;
  Work work_;
  std::string rope_ = "as_recipe";  ///< what is on the reel
  std::string serial_;
  Json fitting_;
  std::map<std::string, int> tries_;
  double first_edge_mm_ = 0;
  Clock::time_point deadline_;
};

/// Hands off, relief valve back, and a fault that stands cleared: how the press is left for the next fitting.
void leave_the_press_ready(StationDesk& station, BenchHand& bench);

}  // namespace shankwright::demo
