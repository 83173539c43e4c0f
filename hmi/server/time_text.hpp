#pragma once
#include <cstdint>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

/// Dates and times as people and programs exchange them (ISO 8601, UTC).
namespace shankwright::hmi {

/// "2031-05-04T13:59:07.250Z" from microseconds since 1970-01-01T00:00:00Z.
[[nodiscard]] std::string utc_text(std::int64_t utc_us);
/// "2031-05-04" from days since 1970-01-01.
[[nodiscard]] std::string day_text(std::int64_t day);
/// Days since 1970-01-01 of "2031-05-04"; only that form, only days there are, years 1970 to 9999.
[[nodiscard]] Result<std::int64_t> parse_day(std::string_view text);

inline constexpr std::int64_t us_per_day = 86'400'000'000;

}  // namespace shankwright::hmi
