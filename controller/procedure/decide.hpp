#pragma once
#include <vector>

#include "procedure/event.hpp"
#include "procedure/state.hpp"
#include "recipe/model.hpp"

namespace shankwright::procedure {

/// What the shell must do after the decision is in the record. No order is acted on before the entry is
/// durable.
enum class Order : std::uint8_t {
  record_permit /* write, then send PermitDurable */,
  give_permit,
  withdraw_permit
};

/// What the record keeps of the decision. Stored on disk by name.
enum class EntryKind : std::uint8_t {
  refused,   ///< the event was not taken; findings say why; state unchanged
  evidence,  ///< taken, the fitting goes on
  finding,   ///< taken, something is wrong with it, the fitting goes on (a repeat, a re-press, a returned
             ///< permit)
  verdict    ///< taken, the fitting reached accepted, scrapped, hold or released
};

struct Decision {
  State state;
  EntryKind entry = EntryKind::refused;
  std::vector<Finding> findings;  ///< every reason, not just the first
  std::vector<Order> orders;
};

/// One step of the procedure, steps 2 to 11 and 14 of the whole job. Pure: no clock, no I/O, no logging.
/// Every pair of state and event has an answer; an event that does not belong to the step is refused with
/// not_this_step.
[[nodiscard]] Decision decide(const State& last, const Event& event, const recipe::JoinedRecipe& joined);

}  // namespace shankwright::procedure
