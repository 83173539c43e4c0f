#pragma once
#include <string>

#include "trial/report.hpp"

namespace shankwright::trial {

/// For a person at a terminal, 100 columns at most.
[[nodiscard]] std::string to_text(const Report& report);
/// Everything a trial found, for programs; keys carry their unit.
[[nodiscard]] std::string to_json(const Report& report);

/// What is assumed and left out, one line each; under every text, figure and draft.
[[nodiscard]] std::vector<std::string> assumptions_of(const Report& report);
/// The usual caution.
inline constexpr const char* caution =
    "Computed, proven on no real part. The terminal and rope makers' instructions, local codes and a\n"
    "competent person come first; Shankwright is not a safety function.";

/// The reason a window is empty, for people.
[[nodiscard]] std::string why_empty(const Report& report);
/// More than this share of fittings rejected at the recommended force: no force will do.
inline constexpr double rejected_share_most = 0.05;
/// True when the window holds a force at which no more than that are rejected.
[[nodiscard]] bool will_do(const Report& report);
/// What else than force is wrong when it will not do, with lines of at most 100; empty otherwise.
[[nodiscard]] std::string why_rejected(const Report& report);
/// "9.068 to 9.169 mm": the scatter of one input as people read it.
[[nodiscard]] std::string range_text(const Report& report, std::size_t scatter);
/// Inputs that scatter, greatest share first.
[[nodiscard]] std::vector<std::size_t> ranked(const Report& report, const Shares& shares);
/// Swept rows with the recommended and the present force among them, force rising.
[[nodiscard]] std::vector<ForceRow> rows_in_order(const Report& report);

}  // namespace shankwright::trial
