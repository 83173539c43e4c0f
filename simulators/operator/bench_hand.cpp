#include "simulators/operator/bench_hand.hpp"

#include <fmt/format.h>

namespace shankwright::demo {
namespace {

std::string mm(double value) {
  return fmt::format("{:.3f} mm", value);
}

}  // namespace

Json BenchHand::act(const std::string& what, const Json& body) {
  const Reply reply = http_.post("/bench/" + what, body);
  if (!reply.ok())
    throw Stuck(fmt::format("the bench does not take {} {}: {}", what, body.dump(), problem_text(reply)));
  return reply.body;
}

void BenchHand::tidy_up() {
  const Reply library = http_.get("/bench/library");
  if (!library.ok()) throw Unreachable("the bench gives no library: " + problem_text(library));
  tags_.clear();
  for (const Json& pair : library.body.at("die_pairs"))
    tags_[pair.at("id").get<std::string>()] = pair.at("tag").get<int>();
  hands(false);
  guard(true);
  emergency_circuit(true);
  remote(true);
}

void BenchHand::new_part(const std::string& recipe, const std::string& rope) {
  act("part", {{"recipe", recipe}, {"rope", rope}});
}
void BenchHand::mount(const std::string& die_pair) {
  act("die", {{"tag", tag_of(die_pair)}});
}
void BenchHand::mount_worn(const std::string& die_pair, double wear_mm) {
  act("die", {{"tag", tag_of(die_pair)}, {"wear", fmt::format("{:.2f} mm", wear_mm)}});
}
int BenchHand::tag_of(const std::string& die_pair) const {
  const auto found = tags_.find(die_pair);
  if (found == tags_.end()) throw Stuck("the bench has no die pair " + die_pair);
  return found->second;
}
std::string BenchHand::other_pair_than(const std::string& die_pair) const {
  for (const auto& [id, tag] : tags_)
    if (id > die_pair) return id;
  return tags_.empty() ? "" : tags_.begin()->first;
}
void BenchHand::mark(const std::string& which, double aimed_mm) {
  act("mark", {{"which", which}, {"aimed", mm(aimed_mm)}});
}
void BenchHand::insert(double short_by_mm) {
  act("insert", {{"short_by", mm(short_by_mm)}});
}
void BenchHand::pull_out() {
  act("pull_out", Json::object());
}
void BenchHand::position(double edge_mm) {
  act("position", {{"edge", mm(edge_mm)}});
}
void BenchHand::turn(double by_deg) {
  act("turn", {{"by", fmt::format("{:.1f} deg", by_deg)}});
}
void BenchHand::take_out() {
  act("take_out", Json::object());
}
void BenchHand::hands(bool on) {
  act("hands", {{"on", on}});
}
void BenchHand::guard(bool closed) {
  act("guard", {{"closed", closed}});
}
void BenchHand::emergency_circuit(bool healthy) {
  act("emergency", {{"healthy", healthy}});
}
void BenchHand::remote(bool selected) {
  act("remote", {{"selected", selected}});
}
void BenchHand::relief_valve(double bar) {
  act("fault", {{"relief_valve_bar", bar}});
}
void BenchHand::restore_relief_valve() {
  act("fault", {{"relief_valve_bar", false}});
}
Json BenchHand::measure(const std::string& kind, const std::string& gauge, int readings) {
  Json body{{"kind", kind}};
  if (!gauge.empty()) body["gauge"] = gauge;
  if (readings > 0) body["readings"] = readings;
  return act("measure", body);
}

}  // namespace shankwright::demo
