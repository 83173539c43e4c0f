#pragma once
#include <string>
#include <string_view>

#include "procedure/decide.hpp"
#include "ports/station_port.hpp"

/// The English of findings, stages and next actions: one place, used by the page, the demo, `trace` and the record.
/// The names (name_of) are what is stored and sent; the sentences are for people and may improve.
namespace shankwright::wording {

[[nodiscard]] std::string_view name_of(procedure::Code code);          ///< "rope_not_home"
[[nodiscard]] std::string_view name_of(procedure::Stage stage);        ///< "permit_given"
[[nodiscard]] std::string_view name_of(procedure::EntryKind kind);
[[nodiscard]] std::string_view name_of(procedure::Surface surface);
[[nodiscard]] std::string_view name_of(procedure::Limit limit);
[[nodiscard]] std::string_view name_of(procedure::Disposition disposition);  ///< "use_as_is"
[[nodiscard]] std::string_view name_of(ports::Item item);                    ///< "rope_lot"
[[nodiscard]] std::string_view event_name(const procedure::Event& event);  ///< "rope_diameter"
[[nodiscard]] std::string_view press_fault(std::uint16_t fault_code);      ///< "hands released"
[[nodiscard]] std::string_view press_refusal(std::uint16_t refusal);
[[nodiscard]] std::string_view press_phase(std::uint16_t phase);

struct FindingText {
  std::string what;        ///< "The rope is not home: depth mark 2.4 mm outside the mouth, limit 0.8 mm."
  std::string what_to_do;  ///< "Push the rope in until the mark meets the mouth, then measure again."
};
[[nodiscard]] FindingText describe(const procedure::Finding& finding);

/// The one thing to do now. `input` names the event wanted (as event_name), empty where nothing is to be entered.
struct NextAction {
  std::string code;        ///< stable name for the page and for programs: "measure_rope", "ask_permit", "press_both_hands" ...
  std::string title;       ///< "Measure the rope"
  std::string detail;      ///< one or two plain sentences with the numbers
  std::string input;       ///< event wanted, for example "rope_diameter"
  std::string unit;        ///< "mm" or "deg" for a quantity
  int readings = 1;        ///< how many values
  double least = 0, most = 0;  ///< limits shown beside the entry; equal when there are none
};
[[nodiscard]] NextAction next_action(const ports::FittingView& fitting, const ports::Snapshot& snapshot);

}  // namespace shankwright::wording
