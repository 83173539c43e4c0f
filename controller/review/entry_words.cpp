#include "review/entry_words.hpp"

#include <algorithm>
#include <array>
#include <tuple>

#include "review/layout.hpp"

namespace shankwright::review {
namespace {

// The unit is the end of the name: "across_flats_least_mm" -> "across flats least", "mm".
std::pair<std::string, std::string> name_and_unit(const std::string& key) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 8> units{{{"_mm", "mm"},
                                                                                       {"_deg", "deg"},
                                                                                       {"_kn", "kN"},
                                                                                       {"_bar", "bar"},
                                                                                       {"_ms", "ms"},
                                                                                       {"_mm2", "mm2"},
                                                                                       {"_c", "degC"},
                                                                                       {"_s", "s"}}};
  for (const auto& [ending, unit] : units)
    if (key.ends_with(ending)) return {spoken(key.substr(0, key.size() - ending.size())), std::string(unit)};
  return {spoken(key), ""};
}

std::string values_text(const Json& value) {
  if (value.is_string()) return value.get<std::string>();
  if (value.is_number()) return number_text(value.get<double>());
  if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
  if (!value.is_array()) return "";
  std::string out;
  for (const auto& item : value)
    out += (out.empty() ? "" : item.is_array() ? "; " : ", ") + values_text(item);
  return out;
}

}  // namespace

std::string spoken(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name.starts_with("no go ") ? "no-go " + name.substr(6) : name;
}

std::string fields_text(const Json& fields) {
  std::string out;
  for (const auto& [key, value] : fields.items()) {
    if (value.is_object() || value.is_null() || key == "gauge" || key == "token" ||
        key == "operator_signed_in")
      continue;
    const auto [name, unit] = name_and_unit(key);
    const auto text = values_text(value);
    if (text.empty()) continue;
    out += (out.empty() ? "" : ", ") + (name == "value" || name == "result" ? "" : name + " ") + text +
           (unit.empty() ? "" : " " + unit);
  }
  return out;
}

std::string state_text(const Evidence& evidence) {
  const auto& [verdict, stage] = std::tie(evidence.row.verdict, evidence.row.stage);
  if (stage == "released") return verdict + ", released";
  if (stage == "accepted") return verdict + ", not yet released";
  return stage == "hold" || stage == "scrapped" ? verdict : verdict + ", at stage " + spoken(stage);
}

const Json& accepted_force_of(const Evidence& evidence, const BiteEvidence& bite) {
  if (bite.accepted_force.is_array()) return bite.accepted_force;
  static const Json none = Json::array();
  const auto& passes = at_path(evidence.recipe, {"recipe", "envelope"});
  if (!bite.pass || *bite.pass < 1 || !passes.is_array() ||
      passes.size() < static_cast<std::size_t>(*bite.pass))
    return none;
  return passes[static_cast<std::size_t>(*bite.pass - 1)];
}

}  // namespace shankwright::review
