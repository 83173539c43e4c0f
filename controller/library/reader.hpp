#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "library/nearest.hpp"
#include "library/node.hpp"
#include "quantity/quantity.hpp"
#include "recipe/model.hpp"

namespace shankwright::library {

/// What was read of one file, by dotted path ("position.tolerance", "envelope[0].force[1].gap").
struct Places {
  std::map<std::string, Place>
      good;  ///< values that were read without a fault: only these may be compared with others
  std::set<std::string> asked;  ///< every key the loader knows, list positions left out ("envelope[].pass")
  [[nodiscard]] bool all(std::initializer_list<std::string_view> paths) const;
  [[nodiscard]] Place at(std::string_view path) const;  ///< 1:1 when it was not read
};

/// Limits of what is plausible, in the unit inside; outside them a value is a slip of the pen.
struct Range {
  double least = 0;
  double most = 0;
};

using QuantityParser = Result<double> (*)(std::string_view);

/// One dimension as the reader needs it: how to read it and how to name its limits.
struct QuantityKind {
  QuantityParser parse;
  std::string_view unit;  ///< in which limits are shown
  double shown_per_inside = 1;
  std::string_view name;
};
inline constexpr QuantityKind length_mm{quantity::parse_length_mm, "mm", 1, "a length"};
inline constexpr QuantityKind force_kn{quantity::parse_force_kn, "kN", 1, "a force"};
inline constexpr QuantityKind pressure_bar{quantity::parse_pressure_bar, "bar", 1, "a pressure"};
inline constexpr QuantityKind stress_mpa{quantity::parse_stress_mpa, "MPa", 1, "a stress"};
inline constexpr QuantityKind angle_deg{quantity::parse_angle_deg, "deg", 1, "an angle"};
inline constexpr QuantityKind duration_ms{quantity::parse_duration_ms, "ms", 1, "a duration"};
inline constexpr QuantityKind area_mm2{quantity::parse_area_mm2, "mm2", 1, "an area"};
inline constexpr QuantityKind percentage{quantity::parse_fraction, "%", 100, "a percentage"};

template <typename T>
struct Named {
  std::string_view name;
  T value;
};

/// Reads the keys of one map and collects what is wrong with each. A key that cannot be read gives the type's
/// default and is left out of `places.good`, so that no later check judges a value nobody wrote. finish()
/// must come last: it reports keys nobody asked for, keys missing, and keys written twice.
class MapReader {
 public:
  MapReader(const Node& node, std::string path, FaultList& faults, Places& places);

  [[nodiscard]] bool has(std::string_view key) const;
  std::string text(std::string_view key);
  std::string id(std::string_view key);      ///< small letters, digits and hyphens, 64 at most
  std::string lot_id(std::string_view key);  ///< as id, with capitals, dots and underscores
  double quantity(std::string_view key, const QuantityKind& kind, Range range);
  recipe::Band band(std::string_view key, const QuantityKind& kind, Range range);
  double number(std::string_view key, Range range);  ///< a plain number, where the value has no unit
  std::uint32_t whole(std::string_view key, std::uint32_t least, std::uint32_t most);
  bool yes_no(std::string_view key);       ///< true or false, no other spelling
  std::int64_t day(std::string_view key);  ///< YYYY-MM-DD as days since 1970-01-01
  template <typename T, std::size_t N>
  T choice(std::string_view key, const Named<T> (&names)[N]) {
    std::vector<std::string> known;
    for (const auto& name : names) known.emplace_back(name.name);
    const std::size_t chosen = choose(key, known);
    return chosen < N ? names[chosen].value : T{};
  }
  MapReader map(std::string_view key);  ///< an empty reader when the key holds no map (the fault is noted)
  /// Items of a list, each with its path for MapReader; empty with a fault when it is no list or has fewer
  /// than `least`.
  std::vector<std::pair<const Node*, std::string>> list(std::string_view key, std::size_t least,
                                                        std::string_view of_what);
  std::vector<std::string> id_list(std::string_view key, std::size_t least);
  /// A map whose keys are ids of the writer's own.
  std::map<std::string, std::int64_t> days_by_id(std::string_view key);

  void may_have(std::string_view key);  ///< known here, but not judged
  /// Of keys that may be left out.
  std::optional<double> optional_quantity(std::string_view key, const QuantityKind& kind, Range range);
  std::optional<double> optional_number(std::string_view key, Range range);
  std::optional<recipe::Band> optional_band(std::string_view key, const QuantityKind& kind, Range range);
  void fault(std::string_view key, std::string expected);  ///< about a value that was read
  void finish();

 private:
  struct Wanted {
    std::string key, expected;
    bool required = true;
  };
  /// The key's value; null (with the fault noted, now or in finish()) when there is none.
  const Node* want(std::string_view key, std::string expected);
  const Node* want_scalar(std::string_view key, std::string expected);
  [[nodiscard]] std::string sub(std::string_view key) const;
  void good(std::string_view key, const Node& node);
  std::size_t choose(std::string_view key, const std::vector<std::string>& known);

  const Node* node_;  ///< null when what stood there was no map
  std::string path_;
  FaultList* faults_;
  Places* places_;
  std::vector<Wanted> wanted_;
  bool quiet_ = false;
};

/// "envelope[].pass" of "envelope[0].pass".
[[nodiscard]] std::string without_positions(std::string_view path);

/// Small letters, digits and hyphens, 64 at most, no hyphen first.
[[nodiscard]] bool is_id(std::string_view text);
inline constexpr std::string_view id_expected = "small letters, digits and hyphens, at most 64";

/// "0.5", "1470.9975": a number for a person to read, ten digits at most.
[[nodiscard]] std::string plain(double value);

}  // namespace shankwright::library
