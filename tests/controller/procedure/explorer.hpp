#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "menu.hpp"
#include "procedure/decide.hpp"

/// Walks every state the core can reach from the start, breadth first, and judges every step by rules written
/// from the requirement.
namespace shankwright::tests {

struct Exploration {
  std::size_t states = 0;
  std::size_t transitions = 0;
  std::string broken_rule;         ///< empty when every rule held everywhere
  std::vector<std::string> story;  ///< shortest way to the broken rule
  std::vector<bool> stages_seen;   ///< by procedure::Stage
};

/// Stops at the first broken rule, or after `states_most` states (then says so as a broken rule).
Exploration explore(Fitted fitted, const recipe::JoinedRecipe& joined, std::size_t states_most = 3'000'000);

/// What must be so after one step. Returns the broken rule in words, or an empty text. `truth` is brought up
/// to date.
std::string judge_step(const procedure::State& before, const Offer& offer,
                       const procedure::Decision& decision, const recipe::JoinedRecipe& joined, Truth& truth);

}  // namespace shankwright::tests
