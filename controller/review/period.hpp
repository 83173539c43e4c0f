#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

namespace shankwright::review {

/// Days from `from` to the last before `until`, as microseconds since 1970-01-01T00:00:00Z; an open end is
/// nothing.
struct Period {
  std::optional<std::int64_t> from_utc_us, until_utc_us;
};

/// A day, month, week or year of ISO 8601 ("2031-05-04", "2031-05", "2031-W18", "2031": 1970 to 2199), or two of them with "/" or ".."
/// between; either side of a range may be open ("2031-05-01/..", "2031-05-01/"). Nothing where the text does
/// not have that form; a Problem where it has, and there is no such day or the range runs backwards.
[[nodiscard]] std::optional<Result<Period>> read_period(std::string_view text);

/// The day that begins at this instant: "2031-05-04".
[[nodiscard]] std::string day_text(std::int64_t utc_us);

}  // namespace shankwright::review
