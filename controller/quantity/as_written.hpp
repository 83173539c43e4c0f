#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace shankwright::quantity {

/// Text from outside made fit to be shown, logged and put into JSON: control characters and bytes that are
/// not UTF-8 become '?', anything past about 80 bytes becomes "...", and an empty text reads "nothing".
[[nodiscard]] std::string as_written(std::string_view text);

/// Text made fit to stand in HTML or XML, between tags or in a quoted attribute: & < > " as entities, control
/// characters as spaces, which XML takes none of.
[[nodiscard]] std::string as_markup(std::string_view text);

/// Offset of the first byte that is not well-formed UTF-8 (Unicode 15, table 3-7: no overlong forms, no
/// surrogates, nothing above U+10FFFF), or nothing.
[[nodiscard]] std::optional<std::size_t> first_invalid_utf8(std::string_view text);

}  // namespace shankwright::quantity
