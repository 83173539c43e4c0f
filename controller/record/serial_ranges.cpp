#include "record/serial_ranges.hpp"

#include <algorithm>
#include <string>

#include "record/serial.hpp"

namespace shankwright::record {
namespace {

constexpr std::string_view letters = "SW";
constexpr std::size_t least_digits = 6, most_digits = 18;

std::int64_t value_of(std::string_view digits) {
  std::int64_t out = 0;
  for (const char digit : digits) out = out * 10 + (digit - '0');
  return out;
}

}  // namespace

std::vector<NumberRange> numbers_beginning(std::string_view typed) {
  const auto text = bare(typed);
  std::vector<NumberRange> out;
  if (text.size() <= letters.size()) {
    if (letters.starts_with(text)) out.push_back({1, value_of(std::string(most_digits, '9'))});
    return out;
  }
  if (!text.starts_with(letters)) return out;
  const auto rest = std::string_view(text).substr(letters.size());
  const auto digits = std::min(rest.find_first_not_of("0123456789"), rest.size());
  for (auto length = least_digits; length <= most_digits; ++length) {
    if (length > least_digits && rest.front() == '0') break;  // only the shortest are filled up with zeros
    NumberRange range;
    if (rest.size() <= length) {
      if (digits < rest.size()) continue;
      const auto fill = length - rest.size();
      range = {value_of(std::string(rest) + std::string(fill, '0')),
               value_of(std::string(rest) + std::string(fill, '9'))};
    } else {
      if (digits < length) continue;
      range.first = range.last = value_of(rest.substr(0, length));
      if (range.first < 1 || !bare(serial_of(range.first)).starts_with(text)) continue;
    }
    range.first = std::max<std::int64_t>(range.first, 1);
    if (range.first <= range.last) out.push_back(range);
  }
  return out;
}

}  // namespace shankwright::record
