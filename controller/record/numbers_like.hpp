#pragma once
#include <cstdint>
#include <string_view>
#include <vector>

namespace shankwright::record {

/// The running numbers up to `newest` of every serial that differs from what was typed, hyphens and case set
/// aside, by no more than two wrong, missing, additional or exchanged characters; and of few others.
/// Ascending. The check characters follow from the digits, so only digits are tried: some ten thousand,
/// however many serials there are. More than 24 characters are like no serial.
[[nodiscard]] std::vector<std::int64_t> numbers_like(std::string_view typed, std::int64_t newest);

}  // namespace shankwright::record
