#include "people/pin.hpp"

#include <algorithm>

namespace shankwright::people {
namespace {

bool digit(char c) {
  return c >= '0' && c <= '9';
}

/// Every digit is the one before plus `step`, counting 9 and 0 as neighbours.
bool counts_by(std::string_view pin, int step) {
  for (std::size_t i = 1; i < pin.size(); ++i)
    if ((pin[i] - pin[i - 1] - step) % 10 != 0) return false;
  return true;
}

bool repeats_a_group(std::string_view pin) {
  for (std::size_t group = 1; group <= pin.size() / 2; ++group) {
    if (pin.size() % group != 0) continue;
    bool same = true;
    for (std::size_t i = group; i < pin.size(); ++i) same = same && pin[i] == pin[i - group];
    if (same) return true;
  }
  return false;
}

}  // namespace

std::optional<Problem> check_pin(std::string_view pin, std::string_view person_id) {
  const std::string digits =
      std::to_string(pin_digits_least) + " to " + std::to_string(pin_digits_most) + " digits";
  if (!std::all_of(pin.begin(), pin.end(), digit)) return Problem{"", "something other than digits", digits};
  if (pin.size() < pin_digits_least || pin.size() > pin_digits_most)
    return Problem{"", std::to_string(pin.size()) + " digits", digits};
  const std::string other = "a PIN that is not among the first to be tried";
  if (repeats_a_group(pin)) return Problem{"", "the same digits over and over", other};
  if (counts_by(pin, 1) || counts_by(pin, -1)) return Problem{"", "digits that count up or down", other};
  std::string own;
  std::copy_if(person_id.begin(), person_id.end(), std::back_inserter(own), digit);
  if (!own.empty() && own == pin) return Problem{"", "the digits of the person's own id", other};
  return std::nullopt;
}

std::string plain_code(std::string_view typed) {
  std::string out;
  for (char c : typed) {
    if (c == ' ' || c == '-') continue;
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    if (c == 'O') c = '0';
    if (c == 'I' || c == 'L') c = '1';
    out += c;
  }
  return out;
}

std::string grouped_code(std::string_view plain) {
  std::string out;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    if (i != 0 && i % 4 == 0) out += '-';
    out += plain[i];
  }
  return out;
}

}  // namespace shankwright::people
