#include "hmi/server/json_text.hpp"

#include <nlohmann/json.hpp>
#include <set>
#include <vector>

namespace shankwright::hmi {
namespace {

constexpr std::size_t shown_most = 80;

std::string cut(std::string text) {
  if (text.size() <= shown_most) return text;
  std::size_t end = shown_most;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
    --end;  // not inside a UTF-8 character
  return text.substr(0, end) + "...";
}

}  // namespace

Result<nlohmann::json> parse_json(std::string_view text) {
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) return nlohmann::json::object();
  std::vector<std::set<std::string>> members;
  std::string twice;
  bool too_deep = false;
  const auto watch = [&](int depth, nlohmann::json::parse_event_t event, nlohmann::json& parsed) {
    using Seen = nlohmann::json::parse_event_t;
    // Values below the bound are discarded while parsing, so depth costs no memory.
    if (static_cast<std::size_t>(depth) >= json_depth_most &&
        (event == Seen::object_start || event == Seen::array_start))
      too_deep = true;
    if (too_deep) return false;
    if (event == Seen::object_start) members.emplace_back();
    if (event == Seen::object_end && !members.empty()) members.pop_back();
    if (event == Seen::key && !members.empty() && !members.back().insert(parsed.get<std::string>()).second &&
        twice.empty())
      twice = parsed.get<std::string>();
    return true;
  };
  try {
    nlohmann::json value = nlohmann::json::parse(text.begin(), text.end(), watch);
    if (too_deep)
      return Problem{"", "more than " + std::to_string(json_depth_most) + " levels of nesting",
                     "a flatter body"};
    if (!twice.empty())
      return Problem{"", "the member \"" + cut(twice) + "\" twice in one object", "each member once"};
    return value;
  } catch (const nlohmann::json::parse_error& error) {
    return Problem{"", "text that is not JSON at byte " + std::to_string(error.byte),
                   "a JSON object in UTF-8 (RFC 8259)"};
  } catch (const nlohmann::json::exception&) {  // a number no double can hold
    return Problem{"", "a number out of range", "a JSON object whose quantities are texts with their unit"};
  }
}

std::string dump_json(const nlohmann::ordered_json& value) {
  return value.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

std::string shown(const nlohmann::json& value) {
  return cut(value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

std::string problem_body(const Problem& problem) {
  return dump_json(
      {{"problem", {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}}}});
}

}  // namespace shankwright::hmi
