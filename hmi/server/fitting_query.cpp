#include "hmi/server/fitting_query.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "hmi/server/names.hpp"
#include "review/time.hpp"
#include "wording/wording.hpp"

namespace shankwright::hmi {
namespace {

constexpr std::array<std::string_view, 16> parameters = {
    "ask",          "from",     "until", "verdict", "recipe", "job",           "operator", "rope_lot",
    "terminal_lot", "die_pair", "gauge", "finding", "text",   "serial_prefix", "limit",    "after"};
constexpr std::array<std::string_view, 5> verdicts = {"accepted", "re-pressed", "scrapped", "held", "open"};

Result<std::size_t> read_limit(const std::string& text) {
  std::size_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc{} && end == text.data() + text.size() && value >= 1 && value <= fittings_most)
    return value;
  return Problem{"limit", text.substr(0, 80), "a whole number from 1 to " + std::to_string(fittings_most)};
}

}  // namespace

Result<FittingQuery> read_fitting_query(const std::map<std::string, std::string>& query,
                                        const review::KnownNames& known) {
  FittingQuery out;
  ports::FittingFilter& filter = out.filter;
  if (const auto ask = query.find("ask"); ask != query.end()) {
    auto asked = review::read_asked(ask->second, known);
    if (!asked) return asked.problem();
    filter = asked.value().filter;
    out.asked = std::move(asked).value();
    for (const auto& [name, value] : query)
      if (name != "ask" && name != "limit" && name != "after")
        return Problem{name.substr(0, 80), value.substr(0, 80),
                       "no condition beside \"ask\": it holds all of them"};
  }
  for (const auto& [name, value] : query) {
    if (std::find(parameters.begin(), parameters.end(), name) == parameters.end())
      return Problem{name.substr(0, 80), "an unknown parameter", expected_one_of(name, parameters)};
    if (name == "ask") continue;
    if (value.size() > 100) return Problem{name, value.substr(0, 80) + "...", "at most 100 characters"};
    if (name == "from" || name == "until") {
      const auto day = review::day_start_utc_us(value);
      if (!day) return Problem{name, day.problem().found, day.problem().expected};
      if (name == "from") filter.from_utc_us = day.value();
      if (name == "until") filter.until_utc_us = day.value() + review::us_per_day;
    } else if (name == "limit") {
      const auto limit = read_limit(value);
      if (!limit) return limit.problem();
      filter.limit = limit.value();
    } else if (name == "verdict" && !value.empty()) {
      if (std::find(verdicts.begin(), verdicts.end(), value) == verdicts.end())
        return Problem{name, value, expected_one_of(value, verdicts)};
      filter.verdict = value;
    }
  }
  const auto text = [&](const char* name) {
    const auto found = query.find(name);
    return found == query.end() ? std::string() : found->second;
  };
  filter.after_serial = text("after");
  if (out.asked) return out;
  filter.recipe_id = text("recipe");
  filter.job = text("job");
  filter.operator_id = text("operator");
  filter.rope_lot = text("rope_lot");
  filter.terminal_lot = text("terminal_lot");
  filter.die_pair_id = text("die_pair");
  filter.gauge_id = text("gauge");
  filter.finding_code = text("finding");
  filter.text = text("text");
  filter.serial_prefix = text("serial_prefix");
  return out;
}

review::KnownNames known_names(const Service& service) {
  review::KnownNames out;
  const auto names = [](const auto& from, std::set<std::string>& into) {
    for (const auto& [id, value] : from) into.insert(id);
  };
  names(service.library.recipes, out.recipes);
  names(service.library.die_pairs, out.die_pairs);
  names(service.library.gauges, out.gauges);
  names(service.shop.rope_lots, out.rope_lots);
  names(service.shop.terminal_lots, out.terminal_lots);
  names(service.shop.people, out.people);
  for (const auto& person : service.people.all()) out.people.insert(person.id);
  for (int i = 1; i < static_cast<int>(procedure::Code::count_); ++i)
    out.findings.emplace(wording::name_of(static_cast<procedure::Code>(i)));
  return out;
}

}  // namespace shankwright::hmi
