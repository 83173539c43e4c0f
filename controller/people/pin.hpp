#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

namespace shankwright::people {

inline constexpr std::size_t pin_digits_least = 4, pin_digits_most = 12;

/// Why this may not be a person's PIN; nothing when it may: 4 to 12 digits, and not one that is tried first:
/// one digit throughout (0000), digits that count up or down (1234, 8765, 7890), a group that repeats (1212,
/// 123123), or the digits of the person's own id (common practice, no source). The PIN itself is never
/// repeated in the Problem.
[[nodiscard]] std::optional<Problem> check_pin(std::string_view pin, std::string_view person_id);

/// A one-time code as it is typed to the form that is compared: capitals, without spaces and hyphens, and
/// with the letters that are easily misread taken for the digits they look like (O for 0; I and L for 1).
/// Codes are written with the digits and the capitals without I, L, O and U, so nothing is lost.
[[nodiscard]] std::string plain_code(std::string_view typed);
inline constexpr std::string_view code_letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
inline constexpr std::size_t code_length = 12;  ///< of 32 letters each: 60 random bits

/// "K7QD-2M9P-X4TR"
[[nodiscard]] std::string grouped_code(std::string_view plain);

}  // namespace shankwright::people
