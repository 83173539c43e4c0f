#include "main/command_diagnose.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>
#include <thread>

#include "library/library.hpp"
#include "main/stored_bites.hpp"
#include "record/store.hpp"

namespace shankwright::command {
namespace {

using diagnosis::Diagnosis;
using diagnosis::Hypothesis;
using nlohmann::json;

constexpr const char* advice =
    "Advice to a technician: it releases and refuses nothing. What a bite was judged by stands in the "
    "dossier.";
constexpr std::size_t learn_from_most = 200;

int fail(int code, const std::string& what) {
  std::cerr << "shankwright: " << what << '\n';
  return code;
}

std::vector<double> other_dies_mm(const std::string& folder, const recipe::JoinedRecipe& joined) {
  std::vector<double> out;
  std::error_code error;
  if (folder.empty() || !std::filesystem::is_directory(folder, error)) return out;
  const auto library = library::load(folder);
  for (const auto& [id, die] : library.die_pairs)
    if (die.shape == joined.die_pair.shape && id != joined.die_pair.id) out.push_back(die.across_flats_mm);
  return out;
}

json as_json(const StoredBite& bite, const Diagnosis* told, const diagnosis::Forecast& forecast) {
  json out = {{"entry", bite.sequence}, {"pass", bite.pass}, {"bite", bite.bite}};
  if (!told) {
    out["not_diagnosed"] = bite.why_not;
    return out;
  }
  out["most_likely"] = diagnosis::name_of(told->most_likely);
  out["group"] = json::array();
  for (const Hypothesis one : told->group) out["group"].push_back(diagnosis::name_of(one));
  out["likelihood"] = json::array();
  for (std::size_t at = 0; at < diagnosis::hypothesis_count; ++at) {
    const auto one = static_cast<Hypothesis>(at);
    json row = {{"hypothesis", diagnosis::name_of(one)}, {"probability", told->probability.at(at)}};
    if (const auto size = diagnosis::size_text(forecast, one, told->size.at(at)); !size.empty())
      row["if_so"] = size;
    out["likelihood"].push_back(std::move(row));
  }
  out["feature"] = told->feature;
  out["sentence"] = told->sentence;
  out["advice"] = diagnosis::advice_of(told->most_likely);
  out["misfit"] = told->misfit;
  return out;
}

void print_text(const StoredBite& bite, const Diagnosis* told) {
  std::cout << fmt::format("\nPass {}, bite {} (entry {})\n", bite.pass, bite.bite, bite.sequence);
  if (!told) {
    std::cout << "  Not diagnosed: " << bite.why_not << ".\n";
    return;
  }
  std::cout << "  " << told->sentence << ".\n";
  if (told->most_likely != Hypothesis::good)
    for (const Hypothesis one : told->group)
      if (one != Hypothesis::good) std::cout << "  " << diagnosis::advice_of(one) << '\n';
  for (const Hypothesis one : told->group)
    std::cout << fmt::format("  {:>6.2f} %  {}\n", 100 * told->probability.at(static_cast<std::size_t>(one)),
                             diagnosis::words_of(one));
  double rest = 1;
  for (const Hypothesis one : told->group) rest -= told->probability.at(static_cast<std::size_t>(one));
  if (rest > 0) std::cout << fmt::format("  {:>6.2f} %  anything else\n", 100 * std::max(0.0, rest));
}

}  // namespace

int diagnose(const record::SqliteStore& store, const std::string& serial, const std::string& library,
             bool as_data) {
  const auto row = store.fitting(serial);
  if (!row) return fail(3, row.problem().text());
  const auto joined = library::from_json(row.value().joined_recipe_json);
  if (!joined) return fail(3, joined.problem().text());
  const auto fitting = stored_fitting(store, row.value());
  if (!fitting) return fail(3, fitting.problem().text());

  diagnosis::ForecastSetting setting;
  setting.joined = joined.value();
  setting.other_dies_mm = other_dies_mm(library, joined.value());
  setting.threads = std::max(1U, std::thread::hardware_concurrency());
  const auto forecast = diagnosis::forecast(setting, forecast_progress());
  if (!forecast) return fail(3, forecast.problem().text());
  // The fitting itself teaches nothing about itself.
  const auto experience = learned_from(store, forecast.value(), learn_from_most, row.value().serial);
  if (!experience) return fail(3, experience.problem().text());

  int code = 0;
  json out = {{"serial", row.value().serial},
              {"recipe", row.value().recipe_id},
              {"revision", row.value().recipe_revision},
              {"rests_on_accepted_fittings", experience.value().fittings},
              {"accepted_but_too_odd_to_learn_from", experience.value().left_out},
              {"caution", advice},
              {"bites", json::array()}};
  if (!as_data)
    std::cout << fmt::format(
        "{}, {} revision {}\nRests on the section model and {} accepted fitting(s). {}\n", row.value().serial,
        row.value().recipe_id, row.value().recipe_revision, experience.value().fittings, advice);
  for (const StoredBite& bite : fitting.value().bites) {
    std::optional<Diagnosis> told;
    if (bite.why_not.empty()) told = diagnosis::diagnose(forecast.value(), experience.value(), bite.traced);
    if (told && told->most_likely != Hypothesis::good) code = 1;
    if (as_data)
      out["bites"].push_back(as_json(bite, told ? &*told : nullptr, forecast.value()));
    else
      print_text(bite, told ? &*told : nullptr);
  }
  if (as_data) std::cout << out.dump(2, ' ', false, json::error_handler_t::replace) << '\n';
  if (!as_data && fitting.value().bites.empty()) std::cout << "\nNo bite was made.\n";
  std::cout << std::flush;
  return std::cout ? code : fail(3, "the output could not be written whole");
}

}  // namespace shankwright::command
