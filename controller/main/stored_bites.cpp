#include "main/stored_bites.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <optional>

#include "diagnosis/place.hpp"
#include "library/library.hpp"
#include "station/state_json.hpp"

namespace shankwright::command {
namespace {

StoredBite bite_of(const ports::StoredEntry& stored, const std::optional<procedure::State>& before,
                   const recipe::JoinedRecipe& joined) {
  StoredBite out;
  out.sequence = stored.sequence;
  if (!before || before->pass < 1) {
    out.why_not = "the record does not say where this bite was";
    return out;
  }
  out.pass = before->pass;
  out.bite = before->bite + 1;
  if (stored.entry.trace.empty()) {
    out.why_not = "no trace was kept";
    return out;
  }
  if (before->pass > joined.recipe.passes) {
    out.why_not = "a re-press: the model does not know shanks pressed that often";
    return out;
  }
  if (before->half_pressed_to_mm) {
    out.why_not = "made again after an unfinished bite at the same place";
    return out;
  }
  if (!before->edge_mm) {
    out.why_not = "the record does not say where the die's edge was";
    return out;
  }
  auto reading =
      diagnosis::read_trace(stored.entry.trace, joined.press.ram_area_mm2, joined.recipe.target_force_kn);
  if (!reading) {
    out.why_not = reading.problem().text();
    return out;
  }
  out.traced = {diagnosis::place_of(*before, *before->edge_mm, joined), std::move(reading).value()};
  return out;
}

bool same_bite(const recipe::JoinedRecipe& one, const recipe::JoinedRecipe& other) {
  return one.rope == other.rope && one.terminal == other.terminal && one.die_pair == other.die_pair &&
         one.press == other.press && one.recipe.passes == other.recipe.passes &&
         one.recipe.target_force_kn == other.recipe.target_force_kn;
}

}  // namespace

Result<StoredFitting> stored_fitting(const ports::RecordStore& record, const ports::FittingRow& row) {
  const auto joined = library::from_json(row.joined_recipe_json);
  if (!joined) return joined.problem();
  const auto entries = record.entries(row.serial, true);
  if (!entries) return entries.problem();
  StoredFitting out;
  std::optional<procedure::State> before;
  for (const auto& stored : entries.value()) {
    out.was_held = out.was_held || stored.entry.stage == "hold";
    if (stored.entry.event == "bite_finished") out.bites.push_back(bite_of(stored, before, joined.value()));
    if (stored.entry.state_json.empty()) continue;
    const auto state = station::state_from_json(stored.entry.state_json);
    before = state ? std::optional(state.value()) : std::nullopt;
  }
  return out;
}

Result<diagnosis::Experience> learned_from(const ports::RecordStore& record,
                                           const diagnosis::Forecast& forecast, std::size_t most,
                                           const std::string& except) {
  diagnosis::Experience out = diagnosis::no_experience(forecast.joined);
  std::vector<std::string> serials;
  ports::FittingFilter filter;
  filter.verdict = "accepted";
  filter.recipe_id = forecast.joined.recipe.id;
  filter.limit = 500;
  while (true) {
    auto page = record.find(filter);
    if (!page) return page.problem();
    if (page.value().empty()) break;
    filter.after_serial = page.value().back().serial;
    for (const auto& row : page.value()) serials.push_back(row.serial);
  }
  if (serials.size() > most)
    serials.erase(serials.begin(), serials.end() - static_cast<std::ptrdiff_t>(most));
  for (const auto& serial : serials) {
    if (serial == except) continue;
    const auto row = record.fitting(serial);
    if (!row) return row.problem();
    const auto joined = library::from_json(row.value().joined_recipe_json);
    if (!joined || !same_bite(joined.value(), forecast.joined)) continue;
    const auto fitting = stored_fitting(record, row.value());
    if (!fitting) return fitting.problem();
    if (fitting.value().was_held) continue;
    std::vector<diagnosis::TracedBite> bites;
    for (const auto& bite : fitting.value().bites)
      if (bite.why_not.empty()) bites.push_back(bite.traced);
    diagnosis::learn(out, forecast, bites);
  }
  return out;
}

std::function<void(int done, int all)> forecast_progress() {
  if (::isatty(STDERR_FILENO) != 1) return {};
  return [](int done, int all) {
    fmt::print(stderr, "\rworking out what bites should look like: {} of {} ", done, all);
    if (done >= all) fmt::print(stderr, "\r{:60}\r", "");
  };
}

}  // namespace shankwright::command
