#include "review/time.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <chrono>
#include <stdexcept>

namespace shankwright::review {

std::string utc_text(std::int64_t utc_us, int decimals) {
  using namespace std::chrono;
  if (decimals < 0 || decimals > 6) throw std::logic_error("microseconds have six decimals");
  const sys_time<microseconds> instant{microseconds(utc_us)};
  const auto day = floor<days>(instant);
  const year_month_day date{day};
  const hh_mm_ss time{instant - day};
  auto out = fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}", static_cast<int>(date.year()),
                         static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                         time.hours().count(), time.minutes().count(), time.seconds().count());
  if (decimals > 0)
    out +=
        "." + fmt::format("{:06}", time.subseconds().count()).substr(0, static_cast<std::size_t>(decimals));
  return out + "Z";
}

Result<std::int64_t> day_start_utc_us(std::string_view text) {
  using namespace std::chrono;
  const Problem problem{"", "\"" + std::string(text) + "\"", "a day, for example 2031-05-04"};
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return problem;
  const auto number = [&](std::size_t from, std::size_t size) {
    int value = 0;
    for (const char digit : text.substr(from, size)) {
      if (digit < '0' || digit > '9') return -1;
      value = value * 10 + (digit - '0');
    }
    return value;
  };
  const int written_year = number(0, 4), written_month = number(5, 2), written_day = number(8, 2);
  if (written_year < 1970 || written_month < 1 || written_day < 1) return problem;
  const year_month_day date{year(written_year), month(static_cast<unsigned>(written_month)),
                            day(static_cast<unsigned>(written_day))};
  if (!date.ok()) return problem;
  return duration_cast<microseconds>(sys_days(date).time_since_epoch()).count();
}

}  // namespace shankwright::review
