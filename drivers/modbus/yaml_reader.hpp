#pragma once
#include <yaml-cpp/yaml.h>

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "quantity/result.hpp"

/// Reads maps of a profile and collects every fault with its place, so that a person can mend a file in one
/// go.
namespace shankwright::modbus {

class YamlReader {
 public:
  YamlReader(std::string file, std::vector<Problem>& problems)
      : file_(std::move(file)), problems_(problems) {}

  void fault(const YAML::Node& at, std::string found, std::string expected) {
    problems_.push_back({place(at.Mark()), std::move(found), std::move(expected)});
  }
  [[nodiscard]] std::string place(const YAML::Mark& mark) const {
    if (mark.is_null()) return file_;
    return file_ + ":" + std::to_string(mark.line + 1) + ":" + std::to_string(mark.column + 1);
  }

  /// The value of `key`; a fault (and an undefined node) when it is missing.
  YAML::Node need(const YAML::Node& map, const std::string& key, const std::string& expected) {
    const YAML::Node value = map[key];
    if (!value) fault(map, "no " + key, expected);
    return value;
  }
  /// Faults unless `node` is a map whose keys are all known and there once.
  bool known_keys(const YAML::Node& node, const std::string& what, const std::set<std::string>& keys) {
    if (!node) return false;
    if (!node.IsMap()) {
      fault(node, node.IsScalar() ? node.Scalar() : "a list or nothing", what + " as a map of keys");
      return false;
    }
    std::set<std::string> seen;
    for (const auto& pair : node) {
      const std::string key = pair.first.IsScalar() ? pair.first.Scalar() : "a key that is no word";
      if (keys.count(key) == 0) fault(pair.first, key, "one of the keys of " + what + ": " + list(keys));
      if (!seen.insert(key).second) fault(pair.first, key + " a second time", "each key once");
    }
    return true;
  }
  std::optional<long long> whole(const YAML::Node& node, long long least, long long most,
                                 const std::string& what) {
    if (!node) return std::nullopt;
    const std::string expected =
        what + ", a whole number from " + std::to_string(least) + " to " + std::to_string(most);
    try {
      const std::string text = node.IsScalar() ? node.Scalar() : "";
      std::size_t used = 0;
      const long long value = std::stoll(text, &used, 10);
      if (used == text.size() && value >= least && value <= most) return value;
    } catch (const std::logic_error&) {  // not a number at all, or far too large: said below
    }
    fault(node, scalar(node), expected);
    return std::nullopt;
  }
  std::optional<double> number(const YAML::Node& node, const std::string& expected) {
    if (!node) return std::nullopt;
    try {
      const std::string text = node.IsScalar() ? node.Scalar() : "";
      std::size_t used = 0;
      const double value = std::stod(text, &used);
      if (used == text.size() && value == value && value < 1e12 && value > -1e12) return value;
    } catch (const std::logic_error&) {
    }
    fault(node, scalar(node), expected);
    return std::nullopt;
  }
  std::optional<std::string> word(const YAML::Node& node, const std::set<std::string>& words,
                                  const std::string& what) {
    if (!node) return std::nullopt;
    if (node.IsScalar() && words.count(node.Scalar()) == 1) return node.Scalar();
    fault(node, scalar(node), what + ", one of " + list(words));
    return std::nullopt;
  }
  [[nodiscard]] static std::string scalar(const YAML::Node& node) {
    if (node.IsScalar()) return node.Scalar().empty() ? "an empty text" : node.Scalar();
    return node.IsMap() ? "a map" : node.IsSequence() ? "a list" : "nothing";
  }

 private:
  [[nodiscard]] static std::string list(const std::set<std::string>& words) {
    std::string out;
    for (const std::string& one : words) out += (out.empty() ? "" : ", ") + one;
    return out;
  }
  std::string file_;
  std::vector<Problem>& problems_;
};

}  // namespace shankwright::modbus
