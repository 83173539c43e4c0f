#include <nlohmann/json.hpp>

#include "library/library.hpp"
#include "library/names.hpp"
#include "quantity/as_written.hpp"

/// A joined recipe as JSON. Each struct's fields are named once, in a structured binding that stops compiling
/// when a field is added and forgotten here, and walked once for writing and once for reading. Numbers are
/// written with the fewest digits that read back to the same double, so the round trip is exact.
namespace shankwright::library {
namespace {

using nlohmann::json;
using namespace shankwright::recipe;

template <typename Walk, typename T>
void walk_band(Walk& walk, T& value) {
  auto& [least, most] = value;
  walk("least", least);
  walk("most", most);
}

template <typename Walk, typename T>
void walk_rope(Walk& walk, T& value) {
  auto& [id, construction, nominal, diameter, factor, force, material, source, grade, force_factor, modulus,
         mass_factor] = value;
  walk("id", id);
  walk("construction", construction);
  walk("nominal_diameter_mm", nominal);
  walk("diameter_mm", diameter);
  walk("metallic_area_factor", factor);
  walk("minimum_breaking_force_kn", force);
  walk("material", material);
  walk("source", source);
  walk.may("rope_grade_mpa", grade);
  walk.may("breaking_force_factor", force_factor);
  walk.may("elastic_modulus_mpa", modulus);
  walk.may("mass_factor", mass_factor);
}

template <typename Walk, typename T>
void walk_terminal(Walk& walk, T& value) {
  auto& [id, shank, bore, depth, swage, material, source, end, pin] = value;
  walk("id", id);
  walk("shank_diameter_mm", shank);
  walk("bore_diameter_mm", bore);
  walk("bore_depth_mm", depth);
  walk("swage_length_mm", swage);
  walk("material", material);
  walk("source", source);
  walk.may("end", end);
  walk.may("pin_to_bore_end_mm", pin);
}

template <typename Walk, typename T>
void walk_die_pair(Walk& walk, T& value) {
  auto& [id, tag, shape, flats, length, rated, life, source] = value;
  walk("id", id);
  walk("tag", tag);
  walk("shape", shape);
  walk("across_flats_mm", flats);
  walk("length_mm", length);
  walk("rated_force_kn", rated);
  walk("life_strokes", life);
  walk("source", source);
}

template <typename Walk, typename T>
void walk_gauge(Walk& walk, T& value) {
  auto& [id, kind, resolution, uncertainty, size, source] = value;
  walk("id", id);
  walk("kind", kind);
  walk("resolution_mm", resolution);
  walk("expanded_uncertainty_mm", uncertainty);
  walk("size_mm", size);
  walk("source", source);
}

template <typename Walk, typename T>
void walk_press(Walk& walk, T& value) {
  auto& [id, area, pressure, capacity, profile, sensor, source] = value;
  walk("id", id);
  walk("ram_area_mm2", area);
  walk("pressure_max_bar", pressure);
  walk("capacity_kn", capacity);
  walk("profile", profile);
  walk("require_shank_sensor", sensor);
  walk("source", source);
}

template <typename Walk, typename T>
void walk_force_at_gap(Walk& walk, T& value) {
  auto& [gap, force] = value;
  walk("gap_mm", gap);
  walk("force_kn", force);
}

template <typename Walk, typename T>
void walk_recipe(Walk& walk, T& value) {
  auto& [id, revision, status, family, rope, terminal, die_pair, press, go, no_go, gauges, readings, mark,
         insertion, clearance, position, edge, overlap, passes, turn, turn_tolerance, flat_offset, target,
         limit, dwell, closed_gap, timeout, permit_life, repeats, envelope, peak, flats, stations, growth,
         growth_second, straightness, slip, re_presses, source, proof, two_persons] = value;
  walk("id", id);
  walk("revision", revision);
  walk("status", status);
  walk("family", family);
  walk("rope", rope);
  walk("terminal", terminal);
  walk("die_pair", die_pair);
  walk("press", press);
  walk("go_gauge", go);
  walk("no_go_gauge", no_go);
  walk("measuring_gauges", gauges);
  walk("rope_diameter_readings", readings);
  walk("mark_tolerance_mm", mark);
  walk("insertion_tolerance_mm", insertion);
  walk("bore_end_clearance_mm", clearance);
  walk("position_tolerance_mm", position);
  walk("least_edge_mm", edge);
  walk("least_overlap_mm", overlap);
  walk("passes", passes);
  walk("turn_deg", turn);
  walk("turn_tolerance_deg", turn_tolerance);
  walk("least_flat_offset_deg", flat_offset);
  walk("target_force_kn", target);
  walk("force_limit_kn", limit);
  walk("dwell_ms", dwell);
  walk("closed_gap_mm", closed_gap);
  walk("stroke_timeout_ms", timeout);
  walk("permit_life_ms", permit_life);
  walk("repeat_bites_max", repeats);
  walk("envelope", envelope);
  walk("peak_force_kn", peak);
  walk("across_flats_mm", flats);
  walk("across_flats_stations", stations);
  walk("growth_fraction", growth);
  walk("growth_second_pass_least", growth_second);
  walk("straightness_mm_max", straightness);
  walk("slip_mm_max", slip);
  walk("re_presses_max", re_presses);
  walk("source", source);
  walk.may("proof", proof);
  walk.may("two_person_disposition", two_persons);
}

template <typename Walk, typename T>
void walk_proof(Walk& walk, T& value) {
  auto& [load, hold, slip] = value;
  walk("load_kn", load);
  walk("hold_s", hold);
  walk("slip_mm_max", slip);
}

template <typename Walk, typename T>
void walk_joined(Walk& walk, T& value) {
  auto& [recipe, rope, terminal, die_pair, press, go, no_go, gauges] = value;
  walk("recipe", recipe);
  walk("rope", rope);
  walk("terminal", terminal);
  walk("die_pair", die_pair);
  walk("press", press);
  walk("go_gauge", go);
  walk("no_go_gauge", no_go);
  walk("measuring_gauges", gauges);
}

template <typename Walk>
void fields(Walk& walk, auto& value) {
  using T = std::remove_const_t<std::remove_reference_t<decltype(value)>>;
  if constexpr (std::is_same_v<T, Band>) walk_band(walk, value);
  if constexpr (std::is_same_v<T, Rope>) walk_rope(walk, value);
  if constexpr (std::is_same_v<T, Terminal>) walk_terminal(walk, value);
  if constexpr (std::is_same_v<T, DiePair>) walk_die_pair(walk, value);
  if constexpr (std::is_same_v<T, Gauge>) walk_gauge(walk, value);
  if constexpr (std::is_same_v<T, Press>) walk_press(walk, value);
  if constexpr (std::is_same_v<T, ForceAtGap>) walk_force_at_gap(walk, value);
  if constexpr (std::is_same_v<T, Recipe>) walk_recipe(walk, value);
  if constexpr (std::is_same_v<T, ProofTest>) walk_proof(walk, value);
  if constexpr (std::is_same_v<T, JoinedRecipe>) walk_joined(walk, value);
}

template <typename T>
constexpr const auto& names_of() {
  if constexpr (std::is_same_v<T, Status>) return status_names;
  if constexpr (std::is_same_v<T, Construction>) return construction_names;
  if constexpr (std::is_same_v<T, EndKind>) return end_names;
  if constexpr (std::is_same_v<T, DieShape>) return shape_names;
  if constexpr (std::is_same_v<T, GaugeKind>) return gauge_kind_names;
}

struct Writer {
  json out = json::object();
  template <typename T>
  void operator()(const char* key, const T& value) {
    out[key] = encode(value);
  }
  /// A key that came later than the first records: left out where there is no value.
  template <typename T>
  void may(const char* key, const std::optional<T>& value) {
    if (value) out[key] = encode(*value);
  }
  void may(const char* key, bool value) {
    if (value) out[key] = true;
  }
  template <typename T>
  static json encode(const T& value) {
    if constexpr (std::is_enum_v<T>) {
      return std::string(name_of(names_of<T>(), value));
    } else if constexpr (std::is_arithmetic_v<T> || std::is_same_v<T, std::string>) {
      return value;
    } else {
      Writer inner;
      fields(inner, value);
      return std::move(inner.out);
    }
  }
  template <typename T>
  static json encode(const std::vector<T>& values) {
    json list = json::array();
    for (const T& value : values) list.push_back(encode(value));
    return list;
  }
  template <typename T>
  static json encode(const std::optional<T>& value) {
    return value ? encode(*value) : json(nullptr);
  }
};

struct Reader {
  const json& in;
  std::string place;                ///< JSON pointer
  std::optional<Problem>& problem;  ///< the first one
  std::size_t taken = 0;

  void refuse(const std::string& at, const json& found, std::string expected) {
    if (problem) return;
    problem = Problem{at, quantity::as_written(found.dump(-1, ' ', true, json::error_handler_t::replace)),
                      std::move(expected)};
  }
  template <typename T>
  void operator()(const char* key, T& value) {
    const auto found = in.find(key);
    if (found == in.end()) {
      refuse(place.empty() ? "/" : place, "no key " + std::string(key), "\"" + std::string(key) + "\"");
      return;
    }
    ++taken;
    decode(*found, place + "/" + key, value);
  }
  template <typename T>
  void may(const char* key, std::optional<T>& value) {
    const auto found = in.find(key);
    if (found == in.end()) return;
    ++taken;
    decode(*found, place + "/" + key, value.emplace());
  }
  void may(const char* key, bool& value) {
    const auto found = in.find(key);
    if (found == in.end()) return;
    ++taken;
    decode(*found, place + "/" + key, value);
  }
  void decode(const json& from, const std::string& at, std::string& value) {
    if (!from.is_string()) return refuse(at, from, "a text");
    value = from.get<std::string>();
  }
  void decode(const json& from, const std::string& at, bool& value) {
    if (!from.is_boolean()) return refuse(at, from, "true or false");
    value = from.get<bool>();
  }
  template <typename T>
  requires std::is_arithmetic_v<T>
  void decode(const json& from, const std::string& at, T& value) {
    if constexpr (std::is_integral_v<T>) {
      const bool fits =
          from.is_number_integer() && from.is_number_unsigned()
              ? from.get<std::uint64_t>() <= static_cast<std::uint64_t>(std::numeric_limits<T>::max())
              : from.is_number_integer() && std::is_signed_v<T> &&
                    from.get<std::int64_t>() >= static_cast<std::int64_t>(std::numeric_limits<T>::min());
      if (!fits) return refuse(at, from, "a whole number");
    } else if (!from.is_number()) {
      return refuse(at, from, "a number");
    }
    value = from.get<T>();
  }
  template <typename T>
  requires std::is_enum_v<T>
  void decode(const json& from, const std::string& at, T& value) {
    std::vector<std::string> known;
    for (const auto& name : names_of<T>()) {
      known.emplace_back(name.name);
      if (from.is_string() && from.get<std::string>() == name.name) {
        value = name.value;
        return;
      }
    }
    refuse(at, from, one_of("", known));
  }
  template <typename T>
  void decode(const json& from, const std::string& at, std::vector<T>& values) {
    if (!from.is_array()) return refuse(at, from, "a list");
    for (std::size_t i = 0; i < from.size() && !problem; ++i)
      decode(from[i], at + "/" + std::to_string(i), values.emplace_back());
  }
  template <typename T>
  void decode(const json& from, const std::string& at, std::optional<T>& value) {
    if (!from.is_null()) decode(from, at, value.emplace());
  }
  template <typename T>
  requires std::is_class_v<T>
  void decode(const json& from, const std::string& at, T& value) {
    if (!from.is_object()) return refuse(at, from, "an object");
    Reader inner{from, at, problem};
    fields(inner, value);
    if (inner.taken < from.size()) refuse(at, "keys nobody knows", "only the keys of a joined recipe");
  }
};

}  // namespace

std::string to_json(const JoinedRecipe& joined) {
  return Writer::encode(joined).dump(-1, ' ', false, json::error_handler_t::replace);
}

Result<JoinedRecipe> from_json(const std::string& text) {
  const json root = json::parse(text, nullptr, false);
  if (root.is_discarded()) return Problem{"/", quantity::as_written(text), "the JSON of a joined recipe"};
  std::optional<Problem> problem;
  JoinedRecipe joined;
  Reader reader{root, "", problem};
  reader.decode(root, "", joined);
  if (problem) return *problem;
  return joined;
}

}  // namespace shankwright::library
