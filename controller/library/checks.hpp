#pragma once
#include "library/kinds.hpp"

/// Limits that contradict one another. A value that could not be read takes part in no check, so one slip
/// gives one fault.
namespace shankwright::library {

/// What a recipe says about itself: turn, forces in order, envelope.
void check_recipe_alone(const Loaded<recipe::Recipe>& recipe, FaultList& faults);

/// What a recipe says against the rope, terminal, die pair, press and gauges it names. Warnings go to
/// `warnings`: what can be meant so but seldom is.
void check_recipe_joined(const Loaded<recipe::Recipe>& recipe, const recipe::JoinedRecipe& joined,
                         FaultList& faults, FaultList& warnings);

}  // namespace shankwright::library
