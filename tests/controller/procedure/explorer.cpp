#include "explorer.hpp"

#include <cstring>
#include <unordered_set>

namespace shankwright::tests {

using namespace procedure;

namespace {

/// All of a state and its truth as bytes: two situations are the same exactly when these are.
class Key {
 public:
  std::string of(const State& state, const Truth& truth) {
    bytes_.clear();
    put(state.stage);
    put(state.aside_from);
    put(state.go);
    put(state.no_go);
    put(state.surface);
    put(state.held_from);
    put(state.proposed ? static_cast<unsigned char>(*state.proposed) : static_cast<unsigned char>(0xFF));
    for_each_value(state, [this](const char*, const auto& value) { put_value(value); });
    for (const Finding& finding : state.standing) put(finding.code);
    put(static_cast<unsigned char>(0xFF));
    for (const bool flag :
         {truth.admitted, truth.rope, truth.shank, truth.bore, truth.depth_mark, truth.boundary_mark,
          truth.inserted, truth.placed, truth.turned, truth.in_the_dies, truth.every_bite_good,
          truth.permit_out, truth.told, truth.quarantine_waits, truth.held_from_outside, truth.proof_slipped})
      put(flag);
    for (const double value : {truth.pass_angle_deg, truth.last_edge_mm, truth.placed_edge_mm}) put(value);
    for (const int value :
         {truth.repeats, truth.re_presses, truth.bites_good, truth.go, truth.no_go, truth.growth, truth.slip,
          truth.straight, truth.surface, truth.proposed, truth.proof})
      put(static_cast<signed char>(value));
    put(truth.size);
    return bytes_;
  }

 private:
  template <typename T>
  void put(const T& value) {
    char raw[sizeof(T)];
    std::memcpy(raw, &value, sizeof(T));
    bytes_.append(raw, sizeof(T));
  }
  void put_value(const std::optional<double>& value) {
    put(value.has_value());
    if (value) put(*value);
  }
  template <typename T>
  void put_value(const T& value) {
    put(value);
  }
  std::string bytes_;
};

struct Node {
  State state;
  Truth truth;
  std::size_t parent = 0;
  std::string by;
};

std::vector<std::string> story_of(const std::vector<Node>& nodes, std::size_t at, const std::string& last) {
  std::vector<std::string> story{last};
  for (; at != 0; at = nodes[at].parent) story.insert(story.begin(), nodes[at].by);
  return story;
}

}  // namespace

Exploration explore(Fitted fitted, const recipe::JoinedRecipe& joined, std::size_t states_most) {
  Exploration result;
  result.stages_seen.assign(static_cast<std::size_t>(Stage::aside) + 1, false);
  std::vector<Node> nodes(1);
  std::unordered_set<std::string> seen;
  Key key;
  seen.insert(key.of(nodes[0].state, nodes[0].truth));
  for (std::size_t at = 0; at < nodes.size(); ++at) {
    const State state = nodes[at].state;
    const Truth truth = nodes[at].truth;
    result.stages_seen[static_cast<std::size_t>(state.stage)] = true;
    for (const Offer& offer : menu(fitted, state, truth, joined)) {
      ++result.transitions;
      const Decision decision = decide(state, offer.event, joined);
      Truth next = truth;
      result.broken_rule = judge_step(state, offer, decision, joined, next);
      if (!result.broken_rule.empty()) {
        result.story = story_of(nodes, at, offer.name);
        result.states = nodes.size();
        return result;
      }
      if (decision.entry == EntryKind::refused || !seen.insert(key.of(decision.state, next)).second) continue;
      nodes.push_back({decision.state, next, at, offer.name});
    }
    if (nodes.size() > states_most) {
      result.broken_rule = "more states than expected";
      break;
    }
  }
  result.states = nodes.size();
  return result;
}

}  // namespace shankwright::tests
