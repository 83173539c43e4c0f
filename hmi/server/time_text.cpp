#include "hmi/server/time_text.hpp"

#include <algorithm>
#include <cctype>
#include <chrono>
#include <cstdio>

namespace shankwright::hmi {
namespace {

/// Whole quotient rounded toward minus infinity: a time before 1970 still falls on its own day.
std::int64_t floor_div(std::int64_t value, std::int64_t by) {
  const std::int64_t quotient = value / by;
  return value % by < 0 ? quotient - 1 : quotient;
}

}  // namespace

std::string day_text(std::int64_t day) {
  const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{day}}};
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return text;
}

std::string utc_text(std::int64_t utc_us) {
  const std::int64_t day = floor_div(utc_us, us_per_day);
  const std::int64_t ms = (utc_us - day * us_per_day) / 1000;
  char text[32];
  std::snprintf(text, sizeof text, "T%02d:%02d:%02d.%03dZ", static_cast<int>(ms / 3'600'000),
                static_cast<int>(ms / 60'000 % 60), static_cast<int>(ms / 1000 % 60),
                static_cast<int>(ms % 1000));
  return day_text(day) + text;
}

Result<std::int64_t> parse_day(std::string_view text) {
  const Problem problem{"", std::string(text.substr(0, 80)), "a day as YYYY-MM-DD, for example 2031-05-04"};
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return problem;
  const auto number = [&](std::size_t from, std::size_t digits) {
    int value = 0;
    for (std::size_t i = from; i < from + digits; ++i) {
      if (std::isdigit(static_cast<unsigned char>(text[i])) == 0) return -1;
      value = value * 10 + (text[i] - '0');
    }
    return value;
  };
  const int year = number(0, 4), month = number(5, 2), day = number(8, 2);
  if (year < 1970 || month < 1 || day < 1) return problem;
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!date.ok()) return problem;
  return std::int64_t{std::chrono::sys_days{date}.time_since_epoch().count()};
}

}  // namespace shankwright::hmi
