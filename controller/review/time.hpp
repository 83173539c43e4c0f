#pragma once
#include <cstdint>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

/// Instants as people and programs write them: ISO 8601, UTC.
namespace shankwright::review {

/// "2031-05-04T13:59:07.250000Z" from microseconds since 1970-01-01T00:00:00Z, with 0 to 6 decimals of the
/// second, cut off, never rounded up.
[[nodiscard]] std::string utc_text(std::int64_t utc_us, int decimals = 6);

/// First microsecond of a civil day "2031-05-04" in UTC; only that form, only days that there are, years 1970
/// to 9999.
[[nodiscard]] Result<std::int64_t> day_start_utc_us(std::string_view day);

inline constexpr std::int64_t us_per_day = 86'400'000'000;

}  // namespace shankwright::review
