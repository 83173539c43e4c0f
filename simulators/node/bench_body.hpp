#pragma once
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

/// Reading the bench's JSON bodies. What does not fit leaves as a Refused, which ends up as the HTTP answer.
namespace shankwright::node {

struct Refused {
  int status = 400;
  Problem problem;
};

[[nodiscard]] inline std::string as_found(const nlohmann::json& value) {
  const std::string text = value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  return text.size() > 80 ? text.substr(0, 77) + "..." : text;
}

/// One body, with every key it may have: a misspelt key is told rather than passed over.
class BenchBody {
 public:
  BenchBody(const nlohmann::json& body, std::initializer_list<std::string_view> known, std::string place = "")
      : body_(body), place_(std::move(place)) {
    if (!body.is_object())
      throw Refused{400, {place_.empty() ? "/" : place_, as_found(body), "a JSON object"}};
    for (const auto& [key, value] : body.items()) {
      bool fits = false;
      std::string names;
      for (const std::string_view name : known) {
        fits = fits || name == key;
        names += (names.empty() ? "" : ", ") + std::string(name);
      }
      if (!fits)
        throw Refused{400,
                      {place_ + "/" + key, as_found(value), names.empty() ? "no key" : "one of " + names}};
    }
  }

  [[nodiscard]] bool has(const char* key) const { return body_.contains(key); }

  [[nodiscard]] std::string text(const char* key, const std::string& expected) const {
    const auto& value = need(key, expected);
    if (!value.is_string()) fail(key, value, expected);
    return value.get<std::string>();
  }
  [[nodiscard]] bool flag(const char* key) const {
    const auto& value = need(key, "true or false");
    if (!value.is_boolean()) fail(key, value, "true or false");
    return value.get<bool>();
  }
  [[nodiscard]] double number(const char* key, double least, double most) const {
    const std::string expected = "a number from " + as_found(least) + " to " + as_found(most);
    const auto& value = need(key, expected);
    if (!value.is_number() || !(value.get<double>() >= least) || !(value.get<double>() <= most)) {
      fail(key, value, expected);
    }
    return value.get<double>();
  }
  [[nodiscard]] int whole(const char* key, int least, int most) const {
    const std::string expected =
        "a whole number from " + std::to_string(least) + " to " + std::to_string(most);
    const auto& value = need(key, expected);
    if (!value.is_number_integer() || value.get<double>() < least || value.get<double>() > most) {
      fail(key, value, expected);
    }
    return value.get<int>();
  }
  /// A text with its unit, read by one of quantity's parsers.
  template <typename Parser>
  [[nodiscard]] double quantity(const char* key, Parser parse, const std::string& expected) const {
    const auto read = parse(std::string_view(text(key, expected)));
    if (!read.ok()) fail(key, body_.at(key), read.problem().expected);
    return read.value();
  }
  [[noreturn]] void fail(const std::string& key, const nlohmann::json& found,
                         const std::string& expected) const {
    throw Refused{400, {place_ + "/" + key, as_found(found), expected}};
  }
  [[nodiscard]] const nlohmann::json& need(const char* key, const std::string& expected) const {
    if (!body_.contains(key)) throw Refused{400, {place_ + "/" + key, "nothing", expected}};
    return body_.at(key);
  }

 private:
  const nlohmann::json& body_;
  std::string place_;
};

}  // namespace shankwright::node
