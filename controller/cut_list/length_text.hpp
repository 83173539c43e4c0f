#pragma once
#include <string>
#include <string_view>

#include "cut_list/cut_list.hpp"

/// How lengths and the figures of an account are written.
namespace shankwright::cut_list {

[[nodiscard]] std::string_view name_of(LengthUnit unit);
[[nodiscard]] double in_unit(double value_mm, LengthUnit unit);
/// Without the unit: 0.1 mm or 0.001 in.
[[nodiscard]] std::string length(double value_mm, LengthUnit unit);
/// The same with the unit.
[[nodiscard]] std::string length_with_unit(double value_mm, LengthUnit unit);
/// Rope by the reel: metres, or inches.
[[nodiscard]] std::string reel_length(double value_mm, LengthUnit unit);
[[nodiscard]] std::string percent(double share, int decimals);
/// "bore depth 64.0 mm"
[[nodiscard]] std::string figure(const planning::Term& term, LengthUnit unit);
/// "pin to bore end 32.0 mm; bore depth 64.0 mm"
[[nodiscard]] std::string figures(const planning::Line& line, LengthUnit unit);
/// "insertion, end A"
[[nodiscard]] std::string what(const planning::Line& line);
[[nodiscard]] std::string_view name_of(planning::EndMaking making);
/// "straight-shank-6mm, fork", or the name alone where its end is not known.
[[nodiscard]] std::string terminal_text(const planning::TerminalNeed& need);
[[nodiscard]] std::string_view name_of(recipe::EndKind end);
/// The recipe; of an end that the press does not make, what it is.
[[nodiscard]] std::string end_text(const planning::End& end);

}  // namespace shankwright::cut_list
