#pragma once
#include <string>
#include <string_view>
#include <vector>

/// Plain text for a terminal.
namespace shankwright::review {

/// Characters a UTF-8 text takes on the screen (code points; the record holds no wide scripts by design of
/// its ids).
[[nodiscard]] std::size_t width(std::string_view text);

/// Control characters as "?", so that what somebody once typed cannot move the cursor of who reads it.
[[nodiscard]] std::string shown(std::string_view text);

/// Rows under each other, every column as wide as its widest cell, two blanks between, nothing after the
/// last.
[[nodiscard]] std::string columns(const std::vector<std::vector<std::string>>& rows, std::string_view indent);

/// A paragraph broken at blanks; `indent` before every line.
[[nodiscard]] std::string wrapped(std::string_view text, std::string_view indent, std::size_t most_columns);

/// "7.95": at most three decimals, no trailing zeros.
[[nodiscard]] std::string number_text(double value);

/// A line of `bars` characters, the greatest value as a full block. Values below 0 count as 0; empty without
/// a value above 0.
[[nodiscard]] std::string bars(const std::vector<double>& values);

}  // namespace shankwright::review
