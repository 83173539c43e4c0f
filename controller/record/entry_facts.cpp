#include "record/entry_facts.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <utility>

namespace shankwright::record {
namespace {

using nlohmann::json;

constexpr std::array<std::string_view, 6> text_keys{"reason", "note",    "remark",
                                                    "text",   "comment", "certificate"};
constexpr std::size_t deepest = 64;

// Walks through a text without building it up: this runs for every entry that is written.
class Walk : public nlohmann::json_sax<json> {
 public:
  bool key(string_t& name) override {
    if (!keys_.empty()) keys_.back() = name;
    return true;
  }
  bool start_object(std::size_t) override { return enter(); }
  bool start_array(std::size_t) override { return enter(); }
  bool end_object() override { return leave(); }
  bool end_array() override { return leave(); }
  bool null() override { return true; }
  bool boolean(bool) override { return true; }
  bool number_integer(number_integer_t) override { return true; }
  bool number_unsigned(number_unsigned_t) override { return true; }
  bool number_float(number_float_t, const string_t&) override { return true; }
  bool string(string_t&) override { return true; }
  bool binary(binary_t&) override { return true; }
  bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override {
    return false;
  }

 protected:
  [[nodiscard]] std::size_t depth() const { return keys_.size(); }
  /// The key at a depth; within an array, that of nothing.
  [[nodiscard]] const std::string& key_at(std::size_t at) const { return keys_[at]; }

 private:
  bool enter() {
    keys_.emplace_back();
    return keys_.size() <= deepest;
  }
  bool leave() {
    keys_.pop_back();
    return true;
  }
  std::vector<std::string> keys_;
};

class BodyWalk final : public Walk {
 public:
  EntryFacts facts;
  bool string(string_t& value) override {
    if (value.empty() || depth() == 0) return true;
    const auto& name = key_at(depth() - 1);
    // Beside the event, or inside it as some older bodies have it.
    if (name == "gauge" && (depth() == 1 || (depth() == 2 && key_at(0) == "event"))) {
      if (facts.gauge.empty() || depth() == 1) facts.gauge = value;
    } else if (name == "code" && depth() == 3 && key_at(0) == "findings") {
      if (std::find(facts.findings.begin(), facts.findings.end(), value) == facts.findings.end())
        facts.findings.push_back(value);
    } else if (std::find(text_keys.begin(), text_keys.end(), name) != text_keys.end()) {
      facts.texts.push_back(value);
    }
    return true;
  }
};

}  // namespace

EntryFacts facts_of(std::string_view body_json) {
  BodyWalk walk;
  if (!body_json.starts_with('{') || !json::sax_parse(body_json.begin(), body_json.end(), &walk)) return {};
  return std::move(walk.facts);
}

StateFacts facts_of_state(const json& state) {
  StateFacts facts;
  if (!state.is_object()) return facts;
  if (const auto bites = state.find("bites_done"); bites != state.end() && bites->is_number_unsigned())
    if (const auto count = bites->get<std::uint64_t>(); count < 1'000'000)
      facts.bites_done = static_cast<std::int64_t>(count);
  const auto again = state.find("re_presses");
  facts.re_pressed = again != state.end() && again->is_number() && *again > 0;
  return facts;
}

}  // namespace shankwright::record
