#pragma once
#include <cstdint>
#include <string_view>
#include <vector>

namespace shankwright::record {

struct NumberRange {
  std::int64_t first = 0, last = 0;
  bool operator==(const NumberRange&) const = default;
};

/// The running numbers of the serials that begin with what was typed, hyphens and case set aside, in
/// ascending ranges. Serials of different lengths can begin alike: SW-1000.. are 100000 and 1000000 and more.
[[nodiscard]] std::vector<NumberRange> numbers_beginning(std::string_view typed);

}  // namespace shankwright::record
