#include <map>
#include <nlohmann/json.hpp>

#include "hmi/server/json_out.hpp"
#include "library/names.hpp"
#include "review/time.hpp"

namespace shankwright::hmi {
namespace {

Json lots_json(const std::map<std::string, library::Lot>& lots) {
  Json out = Json::array();
  for (const auto& [id, lot] : lots)
    out.push_back({{"id", id}, {"of", lot.of}, {"quarantined", lot.quarantined}});
  return out;
}

std::string day_text(std::int64_t day) {
  return review::utc_text(day * review::us_per_day, 0).substr(0, 10);
}

Json gauge_json(const recipe::Gauge& gauge, const library::Shop& shop, std::int64_t today) {
  const auto due = shop.gauge_calibration_due_day.find(gauge.id);
  const bool registered = due != shop.gauge_calibration_due_day.end();
  return {{"id", gauge.id},
          {"kind", library::name_of(library::gauge_kind_names, gauge.kind)},
          {"size_mm", gauge.size_mm ? number(*gauge.size_mm) : Json(nullptr)},
          {"calibration_due", registered ? Json(day_text(due->second)) : Json(nullptr)},
          {"in_date", registered && today <= due->second}};
}

}  // namespace

Json library_json(const library::Library& library, const library::Shop& shop,
                  const std::vector<people::Person>& persons, std::int64_t today) {
  Json recipes = Json::array(), gauges = Json::array(), people = Json::array(), faults = Json::array();
  for (const auto& [id, recipe] : library.recipes)
    recipes.push_back({{"id", id},
                       {"revision", recipe.revision},
                       {"status", library::name_of(library::status_names, recipe.status)},
                       {"family", recipe.family},
                       {"rope", recipe.rope},
                       {"terminal", recipe.terminal},
                       {"die_pair", recipe.die_pair},
                       {"press", recipe.press}});
  for (const auto& [id, gauge] : library.gauges) gauges.push_back(gauge_json(gauge, shop, today));
  for (const auto& person : persons) people.push_back(to_json(person));
  for (const auto& fault : library.faults)
    faults.push_back({{"place", fault.place}, {"found", fault.found}, {"expected", fault.expected}});
  Json ropes = Json::array(), terminals = Json::array(), die_pairs = Json::array(), presses = Json::array();
  for (const auto& [id, rope] : library.ropes)
    ropes.push_back({{"id", id},
                     {"construction", library::name_of(library::construction_names, rope.construction)},
                     {"nominal_diameter_mm", number(rope.nominal_diameter_mm)},
                     {"minimum_breaking_force_kn", number(rope.minimum_breaking_force_kn)}});
  for (const auto& [id, terminal] : library.terminals)
    terminals.push_back(
        {{"id", id},
         {"end", terminal.end ? Json(library::name_of(library::end_names, *terminal.end)) : Json(nullptr)},
         {"pin_distance_known", terminal.pin_to_bore_end_mm.has_value()}});
  for (const auto& [id, pair] : library.die_pairs) die_pairs.push_back(id);
  for (const auto& [id, press] : library.presses) presses.push_back(id);
  return {{"recipes", std::move(recipes)},
          {"ropes", std::move(ropes)},
          {"terminals", std::move(terminals)},
          {"die_pairs", std::move(die_pairs)},
          {"presses", std::move(presses)},
          {"rope_lots", lots_json(shop.rope_lots)},
          {"terminal_lots", lots_json(shop.terminal_lots)},
          {"gauges", std::move(gauges)},
          {"people", std::move(people)},
          {"faults", std::move(faults)}};
}

}  // namespace shankwright::hmi
