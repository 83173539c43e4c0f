#include "review/period.hpp"

#include <algorithm>
#include <chrono>

#include "review/time.hpp"

namespace shankwright::review {
namespace {

using namespace std::chrono;

/// Whether the text has this shape, "d" standing for a digit.
bool shaped(std::string_view text, std::string_view shape) {
  return text.size() == shape.size() &&
         std::equal(text.begin(), text.end(), shape.begin(), [](char character, char wanted) {
           return wanted == 'd' ? character >= '0' && character <= '9' : character == wanted;
         });
}

int number(std::string_view digits) {
  int value = 0;
  for (const char digit : digits) value = value * 10 + (digit - '0');
  return value;
}

std::int64_t us(sys_days day) {
  return duration_cast<microseconds>(day.time_since_epoch()).count();
}

std::optional<Result<Period>> one(std::string_view text) {
  if (shaped(text, "dddd-dd-dd")) {
    const auto start = day_start_utc_us(text);
    if (!start)
      return Result<Period>(Problem{"ask", std::string(text), "a day that there is, 1970 or later"});
    return Result<Period>(Period{start.value(), start.value() + us_per_day});
  }
  if (shaped(text, "dddd")) {
    // Of four digits only those that can be a year of a record; others are somebody's number.
    const int of_year = number(text);
    if (of_year < 1970 || of_year > 2199) return std::nullopt;
    return Result<Period>(Period{us(year(of_year) / January / 1), us(year(of_year + 1) / January / 1)});
  }
  if (shaped(text, "dddd-dd")) {
    const year_month first{year(number(text.substr(0, 4))),
                           month(static_cast<unsigned>(number(text.substr(5))))};
    if (!first.ok() || first.year() < year(1970))
      return Result<Period>(Problem{"ask", std::string(text), "a month from 01 to 12, 1970 or later"});
    return Result<Period>(Period{us(first / day(1)), us((first + months(1)) / day(1))});
  }
  if (shaped(text, "dddd-Wdd")) {
    // Week 1 holds the year's first Thursday (ISO 8601).
    const int of_year = number(text.substr(0, 4)), week = number(text.substr(6));
    const auto monday_of_week_1 = [](int y) {
      const sys_days fourth = year(y) / January / 4;
      return fourth - (weekday(fourth) - Monday);
    };
    const auto start = monday_of_week_1(of_year) + days(7 * (week - 1));
    if (of_year < 1970 || week < 1 || start >= monday_of_week_1(of_year + 1))
      return Result<Period>(Problem{"ask", std::string(text), "a week that this year has, 1970 or later"});
    return Result<Period>(Period{us(start), us(start + days(7))});
  }
  return std::nullopt;
}

}  // namespace

std::optional<Result<Period>> read_period(std::string_view text) {
  std::size_t cut = text.find('/'), size = 1;
  if (cut == std::string_view::npos) {
    cut = text.find("..");
    size = 2;
  }
  if (cut == std::string_view::npos) return one(text);
  const auto before = text.substr(0, cut), after = text.substr(cut + size);
  const auto open = [](std::string_view side) { return side.empty() || side == ".."; };
  if (open(before) && open(after)) return std::nullopt;
  Period out;
  if (!open(before)) {
    const auto first = one(before);
    if (!first) return std::nullopt;
    if (!*first) return Result<Period>(first->problem());
    out.from_utc_us = first->value().from_utc_us;
  }
  if (!open(after)) {
    const auto last = one(after);
    if (!last) return std::nullopt;
    if (!*last) return Result<Period>(last->problem());
    out.until_utc_us = last->value().until_utc_us;
  }
  if (out.from_utc_us && out.until_utc_us && *out.from_utc_us >= *out.until_utc_us)
    return Result<Period>(Problem{"ask", std::string(text), "the earlier day first"});
  return Result<Period>(out);
}

std::string day_text(std::int64_t utc_us) {
  return utc_text(utc_us, 0).substr(0, 10);
}

}  // namespace shankwright::review
