#include "record/serial.hpp"

#include <fmt/format.h>

#include <charconv>
#include <stdexcept>

namespace shankwright::record {
namespace {

constexpr unsigned modulus = 1271;
constexpr unsigned radix = 36;
constexpr std::string_view alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
constexpr std::string_view prefix = "SW";
constexpr std::size_t least_digits = 6;
constexpr std::size_t most_digits = 18;  // fits int64_t

// ISO/IEC 7064:2003, 7.1 (pure system, recursive method): P(j+1) = (P(j) + a(j)) * r, modulo M.
std::optional<unsigned> remainder(std::string_view text) {
  unsigned sum = 0;
  for (const char character : text) {
    const auto value = alphabet.find(character);
    if (value == std::string_view::npos) return std::nullopt;
    sum = (sum + static_cast<unsigned>(value)) * radix % modulus;
  }
  return sum;
}

}  // namespace

std::optional<std::array<char, 2>> check_characters(std::string_view text) {
  const auto sum = remainder(text);
  if (text.empty() || !sum) return std::nullopt;
  // One more step of the recursion for the second check character; the whole must leave the remainder 1.
  const unsigned check = (modulus + 1 - *sum * radix % modulus) % modulus;
  return std::array{alphabet[check / radix], alphabet[check % radix]};
}

bool check_characters_fit(std::string_view text_with_check) {
  if (text_with_check.size() < 3) return false;
  const auto expected = check_characters(text_with_check.substr(0, text_with_check.size() - 2));
  return expected &&
         text_with_check.substr(text_with_check.size() - 2) == std::string_view(expected->data(), 2);
}

std::string serial_of(std::int64_t number) {
  if (number < 1) throw std::logic_error("serial numbers begin at 1");
  const auto text = fmt::format("{}{:06}", prefix, number);
  const auto check = check_characters(text).value();
  return fmt::format("{}-{}-{}{}", prefix, text.substr(prefix.size()), check[0], check[1]);
}

std::optional<std::int64_t> number_of(std::string_view typed) {
  const auto text = bare(typed);
  if (!text.starts_with(prefix) || !check_characters_fit(text)) return std::nullopt;
  const auto digits = std::string_view(text).substr(prefix.size(), text.size() - prefix.size() - 2);
  if (digits.size() < least_digits || digits.size() > most_digits) return std::nullopt;
  std::int64_t number = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (error != std::errc() || end != digits.data() + digits.size() || number < 1) return std::nullopt;
  // "SW-0000123-.." would be a second way to write number 123 and is none of ours.
  if (bare(serial_of(number)) != text) return std::nullopt;
  return number;
}

std::string bare(std::string_view typed) {
  std::string out;
  for (const char character : typed) {
    if (character == '-' || character == ' ') continue;
    out += character >= 'a' && character <= 'z' ? static_cast<char>(character - 'a' + 'A') : character;
  }
  return out;
}

}  // namespace shankwright::record
