#include <catch2/catch.hpp>
#include <iostream>

#include "explorer.hpp"
#include "procedure/guard.hpp"

// Goal: no way through the procedure leads to a permit, a verdict or a release that the requirement forbids,
// and every interlock is one that the exploration would miss. Method: breadth first over everything reachable
// with small sets of evidence, judged by rules that know nothing of the core; then the same with each
// interlock taken out in turn.

namespace shankwright::procedure {
Guard guard_taken_out = Guard::count_;
}

using namespace shankwright;
using procedure::Guard;
using tests::Exploration;
using tests::Fitted;

namespace {

const char* guard_name(Guard guard) {
  static constexpr const char* names[] = {
#define SHANKWRIGHT_GUARD_NAME(name) #name,
      SHANKWRIGHT_GUARDS(SHANKWRIGHT_GUARD_NAME)
#undef SHANKWRIGHT_GUARD_NAME
  };
  return names[static_cast<std::size_t>(guard)];
}

std::string told(const Exploration& found) {
  std::string text = found.broken_rule + ", by way of:";
  for (const std::string& step : found.story) text += "\n    " + step;
  return text;
}

/// Every state that can be reached: no rule is broken anywhere, and no stage is left out.
void explore_all(Fitted fitted, bool careful) {
  procedure::guard_taken_out = Guard::count_;
  const Exploration found = tests::explore(fitted, careful ? tests::careful_recipe() : tests::bench_recipe());
  INFO(told(found));
  REQUIRE(found.broken_rule.empty());
  for (std::size_t stage = 0; stage < found.stages_seen.size(); ++stage) {
    INFO("stage " << stage << " is never reached");
    CHECK(found.stages_seen[stage]);
  }
  std::cout << found.states << " states, " << found.transitions << " transitions\n";
}

}  // namespace

// One case each, so that a machine with several cores walks through them side by side.
TEST_CASE("No way through the procedure breaks an interlock: every sensor") {
  explore_all(Fitted::all_sensors, false);
}
TEST_CASE("No way through the procedure breaks an interlock: no sensor") {
  explore_all(Fitted::no_sensors, false);
}
TEST_CASE("No way through the procedure breaks an interlock: every sensor, proof load and two reviewers") {
  explore_all(Fitted::all_sensors, true);
}
TEST_CASE("No way through the procedure breaks an interlock: no sensor, proof load and two reviewers") {
  explore_all(Fitted::no_sensors, true);
}

TEST_CASE("Every interlock taken out in turn is missed") {
  int noticed = 0;
  for (int i = 0; i < static_cast<int>(Guard::count_); ++i) {
    procedure::guard_taken_out = static_cast<Guard>(i);
    // Quarantine, signatures and proof loads show with the recipe that asks for everything; first there.
    const bool late = i >= static_cast<int>(Guard::admission_die_pair_free);
    Exploration found =
        tests::explore(Fitted::all_sensors, late ? tests::careful_recipe() : tests::bench_recipe());
    if (found.broken_rule.empty()) found = tests::explore(Fitted::no_sensors, tests::bench_recipe());
    if (found.broken_rule.empty()) found = tests::explore(Fitted::all_sensors, tests::careful_recipe());
    INFO("interlock taken out: " << guard_name(procedure::guard_taken_out));
    CHECK_FALSE(found.broken_rule.empty());
    if (!found.broken_rule.empty()) ++noticed;
  }
  procedure::guard_taken_out = Guard::count_;
  std::cout << noticed << " of " << static_cast<int>(Guard::count_) << " interlocks taken out were missed\n";
}
