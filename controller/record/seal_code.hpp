#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// A seal as characters on paper, so that a certificate can be held against the record years later.
///
/// The full code carries the signature itself; with the public key it can be checked without the record:
///   SWS1.<sequence>.<first 16 digits of the public key>.<head, 64 digits>.<signature, 128 digits>
/// The short code is for reading aloud and typing; it is checked against a record only:
///   <sequence>-<first 20 digits of the head in capitals>-<two check characters>
/// The check characters are those of serials (serial.hpp) over sequence and digits without the hyphen.
namespace shankwright::record {

[[nodiscard]] std::string full_code(const ports::Seal& seal);
[[nodiscard]] std::string short_code(const ports::Seal& seal);

/// What a code of either form says.
struct SealCode {
  std::int64_t sequence = 0;
  std::string head_hex;                      ///< small letters; 64 digits of the full code, 20 of the short
  std::optional<std::string> signature_hex;  ///< full code only
  std::optional<std::string> key_digits;     ///< full code only: first 16 of the public key
};
/// Small or capital letters, blanks around it or in it. Problem with what is expected; a mistyped short code
/// is told from its check characters.
[[nodiscard]] Result<SealCode> read_code(std::string_view typed);

}  // namespace shankwright::record
