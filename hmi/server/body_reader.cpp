#include "hmi/server/body_reader.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"

namespace shankwright::hmi {
namespace {

bool has_control_character(const std::string& text) {
  return std::any_of(text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7F; });
}

std::string count_of(const nlohmann::json& value) {
  return value.is_array() ? std::to_string(value.size()) + " values" : shown(value);
}

}  // namespace

std::string pointer_to(std::string_view member) {
  std::string out = "/";
  for (const char c : member.substr(0, 100)) {
    if (c == '~')
      out += "~0";
    else if (c == '/')
      out += "~1";
    else
      out += c;
  }
  return out;
}

BodyReader::BodyReader(const nlohmann::json& body, std::span<const std::string_view> known) : body_(body) {
  if (!body.is_object()) {
    fail({"", shown(body), "a JSON object"});
    return;
  }
  for (const auto& [name, value] : body.items())
    if (std::find(known.begin(), known.end(), name) == known.end())
      fail({pointer_to(name), "an unknown member", expected_one_of(name, known)});
}

bool BodyReader::has(std::string_view member) const {
  return body_.is_object() && body_.contains(std::string(member));
}

void BodyReader::fail(Problem problem) {
  if (!problem_) problem_ = std::move(problem);
}

const nlohmann::json* BodyReader::member(std::string_view name, std::string_view expected) {
  if (problem_) return nullptr;
  const auto found = body_.find(std::string(name));
  if (found == body_.end()) {
    fail({pointer_to(name), "nothing", std::string(expected)});
    return nullptr;
  }
  return &*found;
}

std::string BodyReader::text(std::string_view name, std::string_view expected) {
  const auto* value = member(name, expected);
  if (value == nullptr) return "";
  if (value->is_string()) {
    const auto& text = value->get_ref<const std::string&>();
    if (!text.empty() && text.size() <= text_most && !has_control_character(text)) return text;
  }
  fail({pointer_to(name), shown(*value), std::string(expected)});
  return "";
}

std::string BodyReader::optional_text(std::string_view name, std::string_view expected) {
  return has(name) ? text(name, expected) : "";
}

std::string BodyReader::secret(std::string_view name, std::string_view expected) {
  const auto* value = member(name, expected);
  if (value == nullptr) return "";
  if (value->is_string()) {
    const auto& text = value->get_ref<const std::string&>();
    if (!text.empty() && text.size() <= text_most && !has_control_character(text)) return text;
  }
  fail({pointer_to(name), "something else", std::string(expected)});
  return "";
}

std::vector<std::string> BodyReader::texts(std::string_view name, std::size_t most,
                                           std::string_view expected) {
  std::vector<std::string> out;
  const auto* value = member(name, expected);
  if (value == nullptr) return out;
  bool fits = value->is_array() && value->size() <= most;
  if (fits)
    for (const auto& one : *value) {
      fits = fits && one.is_string() && std::find(out.begin(), out.end(), one) == out.end();
      if (fits) out.push_back(one.get<std::string>());
    }
  if (!fits) fail({pointer_to(name), shown(*value), std::string(expected)});
  return fits ? out : std::vector<std::string>{};
}

std::optional<std::string> BodyReader::text_or_null(std::string_view name, std::string_view expected) {
  const auto* value = member(name, expected);
  if (value == nullptr || value->is_null()) return std::nullopt;
  return text(name, expected);
}

std::string BodyReader::free_text(std::string_view name, std::string_view expected) {
  const auto* value = member(name, expected);
  if (value == nullptr) return "";
  if (value->is_string() && value->get_ref<const std::string&>().size() <= reason_most)
    return value->get<std::string>();
  fail({pointer_to(name), shown(*value), std::string(expected)});
  return "";
}

std::size_t BodyReader::choice(std::string_view name, std::span<const std::string_view> known) {
  const auto* value = member(name, expected_one_of("", known));
  if (value == nullptr) return 0;
  const std::string given = value->is_string() ? value->get<std::string>() : "";
  const auto found = std::find(known.begin(), known.end(), given);
  if (value->is_string() && found != known.end()) return static_cast<std::size_t>(found - known.begin());
  fail({pointer_to(name), shown(*value), expected_one_of(given, known)});
  return 0;
}

double BodyReader::one(const nlohmann::json& value, const std::string& place, Parse parse,
                       std::string_view expected) {
  if (problem_) return 0;
  if (value.is_string() && value.get_ref<const std::string&>().size() <= text_most) {
    const Result<double> parsed = parse(value.get_ref<const std::string&>());
    if (parsed.ok()) return parsed.value();
  }
  // A text is shown without JSON's quotes, as it was written; an empty one would be no word at all.
  const std::string written = value.is_string() ? value.get<std::string>().substr(0, text_most) : "";
  fail({place, written.empty() ? shown(value) : written, std::string(expected)});
  return 0;
}

std::vector<double> BodyReader::quantities(std::string_view name, std::size_t most, Parse parse,
                                           std::string_view expected) {
  std::vector<double> out;
  const auto* value = member(name, "an array of values, each " + std::string(expected));
  if (value == nullptr) return out;
  if (!value->is_array() || value->empty() || value->size() > most) {
    const std::string many =
        most == 1 ? "an array of one value, " : "an array of 1 to " + std::to_string(most) + " values, each ";
    fail({pointer_to(name), count_of(*value), many + std::string(expected)});
    return out;
  }
  for (std::size_t i = 0; i < value->size(); ++i)
    out.push_back(one((*value)[i], pointer_to(name) + "/" + std::to_string(i), parse, expected));
  return out;
}

double BodyReader::quantity(std::string_view name, Parse parse, std::string_view expected) {
  const auto values = quantities(name, 1, parse, expected);
  return values.empty() ? 0 : values.front();
}

double BodyReader::amount(std::string_view name, Parse parse, std::string_view expected) {
  const auto* value = member(name, expected);
  return value == nullptr ? 0 : one(*value, pointer_to(name), parse, expected);
}

std::vector<std::array<double, 3>> BodyReader::triples(std::string_view name, std::size_t most, Parse parse,
                                                       std::string_view expected) {
  std::vector<std::array<double, 3>> out;
  const std::string wanted = "1 to " + std::to_string(most) +
                             " stations, each an array of three values, each " + std::string(expected);
  const auto* value = member(name, wanted);
  if (value == nullptr) return out;
  if (!value->is_array() || value->empty() || value->size() > most) {
    fail({pointer_to(name), count_of(*value), wanted});
    return out;
  }
  for (std::size_t row = 0; row < value->size(); ++row) {
    const auto& station = (*value)[row];
    const std::string place = pointer_to(name) + "/" + std::to_string(row);
    if (!station.is_array() || station.size() != 3) {
      fail({place, count_of(station),
            "three values, one for each pair of flats, each " + std::string(expected)});
      return out;
    }
    auto& read = out.emplace_back();
    for (std::size_t flat = 0; flat < 3; ++flat)
      read[flat] = one(station[flat], place + "/" + std::to_string(flat), parse, expected);
  }
  return out;
}

}  // namespace shankwright::hmi
