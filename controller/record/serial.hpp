#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// Serials of fittings: "SW-000123-T0" is the prefix, a running number of at least six digits, and two check
/// characters by ISO/IEC 7064:2003, MOD 1271-36 (alphanumeric, two check characters) over the prefix and the
/// number without the hyphens. One wrong character, or two exchanged, never gives another valid serial.
namespace shankwright::record {

/// The two check characters of a text of digits and capital letters; nothing when it holds anything else or
/// is empty.
[[nodiscard]] std::optional<std::array<char, 2>> check_characters(std::string_view text);

/// Whether a text that ends in its two check characters is free of typing errors.
[[nodiscard]] bool check_characters_fit(std::string_view text_with_check);

/// The serial with this running number, 1 and up.
[[nodiscard]] std::string serial_of(std::int64_t number);

/// The running number of a serial as people type it: small letters, and hyphens or blanks anywhere or
/// nowhere, are taken. Nothing when the form is wrong or the check characters do not fit.
[[nodiscard]] std::optional<std::int64_t> number_of(std::string_view typed);

/// What was typed without hyphens and blanks, in capitals: "sw-000123-t0" -> "SW000123T0".
[[nodiscard]] std::string bare(std::string_view typed);

}  // namespace shankwright::record
