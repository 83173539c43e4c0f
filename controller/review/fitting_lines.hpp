#pragma once
#include <string>
#include <string_view>

#include "ports/ports.hpp"

/// One fitting a line, for exports of any length: each call appends one line, whole and with its end.
namespace shankwright::review {

/// RFC 4180: comma-separated, lines end with CR LF, a cell with a comma, a quote or a line break stands in
/// quotes and quotes inside are doubled. Cells stand as they were recorded: a spreadsheet is to import them
/// as text.
void append_csv_heading(std::string& out);
void append_csv_line(std::string& out, const ports::FittingRow& row);

/// One JSON object, without its closing brace, so that more members can follow; UTF-8, what is none replaced
/// by U+FFFD.
void append_json_members(std::string& out, const ports::FittingRow& row);
/// The text in quotes, as JSON has it.
void append_json_text(std::string& out, std::string_view text);
/// A recorded body on one line: as it stands where it is a JSON object, else in quotes as a text.
void append_json_body(std::string& out, std::string_view body);

}  // namespace shankwright::review
