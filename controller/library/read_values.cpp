#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <cmath>

#include "library/reader.hpp"

/// One value of a key: text, id, quantity, number, day.
namespace shankwright::library {
namespace {

std::string range_text(const QuantityKind& kind, Range range) {
  const auto shown = [&](double value) {
    return plain(value * kind.shown_per_inside) + " " + std::string(kind.unit);
  };
  return std::string(kind.name) + " from " + shown(range.least) + " to " + shown(range.most);
}

bool is_name(std::string_view text, bool capitals) {
  if (text.empty() || text.size() > 64 || text.front() == '-') return false;
  return std::all_of(text.begin(), text.end(), [capitals](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' ||
           (capitals && ((c >= 'A' && c <= 'Z') || c == '.' || c == '_'));
  });
}

std::optional<std::int64_t> read_day(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto part = [&](std::size_t from, std::size_t count) {
    int value = -1;
    const char* const end = text.data() + from + count;
    const auto [stop, error] = std::from_chars(text.data() + from, end, value);
    return error == std::errc{} && stop == end ? value : -1;
  };
  const int year = part(0, 4);
  const int month = part(5, 2);
  const int day = part(8, 2);
  if (year < 1970 || month < 1 || day < 1) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_days(date).time_since_epoch().count();
}

constexpr std::string_view day_expected = "a day as YYYY-MM-DD, for example 2026-03-31";

}  // namespace

bool is_id(std::string_view text) {
  return is_name(text, false);
}

std::string plain(double value) {
  std::array<char, 64> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, 10);
  return {buffer.data(), error == std::errc{} ? end : buffer.data()};
}

std::string MapReader::text(std::string_view key) {
  constexpr std::size_t bytes_most = 1000;
  const Node* const node = want_scalar(key, "a text");
  if (node == nullptr) return "";
  if (node->text.size() > bytes_most) {
    faults_->add(node->place, node->text, "a text of at most " + std::to_string(bytes_most) + " bytes");
    return "";
  }
  good(key, *node);
  return node->text;
}

std::string MapReader::id(std::string_view key) {
  const std::string expected(id_expected);
  const Node* const node = want_scalar(key, expected);
  if (node == nullptr) return "";
  if (!is_name(node->text, false)) {
    faults_->add(node->place, node->text, expected);
    return "";
  }
  good(key, *node);
  return node->text;
}

std::string MapReader::lot_id(std::string_view key) {
  const std::string expected = "letters, digits, hyphens, dots and underscores, at most 64";
  const Node* const node = want_scalar(key, expected);
  if (node == nullptr) return "";
  if (!is_name(node->text, true)) {
    faults_->add(node->place, node->text, expected);
    return "";
  }
  good(key, *node);
  return node->text;
}

double MapReader::quantity(std::string_view key, const QuantityKind& kind, Range range) {
  const std::string expected = range_text(kind, range);
  const Node* const node = want_scalar(key, expected);
  if (node == nullptr) return 0;
  const auto value = kind.parse(node->text);
  if (!value) {
    faults_->add(node->place, node->text, value.problem().expected);
    return 0;
  }
  // Limits were typed in one unit and may be written in another: a rounding step must not refuse the limit
  // itself.
  const double slack = 1e-9 * std::max(1.0, std::abs(range.most));
  if (value.value() < range.least - slack || value.value() > range.most + slack) {
    faults_->add(node->place, node->text, expected);
    return 0;
  }
  good(key, *node);
  return value.value();
}

recipe::Band MapReader::band(std::string_view key, const QuantityKind& kind, Range range) {
  const Node* const node = want(key, "a map with \"least\" and \"most\", each " + range_text(kind, range));
  if (node == nullptr) {
    places_->asked.insert(without_positions(sub(key) + ".least"));
    places_->asked.insert(without_positions(sub(key) + ".most"));
    return {};
  }
  MapReader reader(*node, sub(key), *faults_, *places_);
  recipe::Band band;
  band.least = reader.quantity("least", kind, range);
  band.most = reader.quantity("most", kind, range);
  if (places_->all({sub(key) + ".least", sub(key) + ".most"})) {
    if (band.least > band.most) {
      reader.fault("least", "no more than \"most\"");
    } else {
      good(key, *node);
    }
  }
  reader.finish();
  return band;
}

double MapReader::number(std::string_view key, Range range) {
  const std::string expected =
      "a number without unit from " + plain(range.least) + " to " + plain(range.most);
  const Node* const node = want_scalar(key, expected);
  if (node == nullptr) return 0;
  double value = 0;
  const char* const end = node->text.data() + node->text.size();
  const auto [stop, error] = std::from_chars(node->text.data(), end, value);
  if (error != std::errc{} || stop != end ||
      !(value >= range.least && value <= range.most)) {  // NaN fails both
    faults_->add(node->place, node->text, expected);
    return 0;
  }
  good(key, *node);
  return value;
}

std::optional<double> MapReader::optional_quantity(std::string_view key, const QuantityKind& kind,
                                                   Range range) {
  if (has(key)) return quantity(key, kind, range);
  may_have(key);
  return std::nullopt;
}

std::optional<double> MapReader::optional_number(std::string_view key, Range range) {
  if (has(key)) return number(key, range);
  may_have(key);
  return std::nullopt;
}

std::optional<recipe::Band> MapReader::optional_band(std::string_view key, const QuantityKind& kind,
                                                     Range range) {
  if (has(key)) return band(key, kind, range);
  may_have(key);
  return std::nullopt;
}

std::uint32_t MapReader::whole(std::string_view key, std::uint32_t least, std::uint32_t most) {
  const std::string expected = "a whole number from " + std::to_string(least) + " to " + std::to_string(most);
  const Node* const node = want_scalar(key, expected);
  if (node == nullptr) return 0;
  std::uint32_t value = 0;
  const char* const end = node->text.data() + node->text.size();
  const auto [stop, error] = std::from_chars(node->text.data(), end, value);
  if (error != std::errc{} || stop != end || value < least || value > most) {
    faults_->add(node->place, node->text, expected);
    return 0;
  }
  good(key, *node);
  return value;
}

bool MapReader::yes_no(std::string_view key) {
  const Node* const node = want_scalar(key, "true or false");
  if (node == nullptr) return false;
  if (node->text != "true" && node->text != "false") {
    faults_->add(node->place, node->text, "true or false");
    return false;
  }
  good(key, *node);
  return node->text == "true";
}

std::int64_t MapReader::day(std::string_view key) {
  const Node* const node = want_scalar(key, std::string(day_expected));
  if (node == nullptr) return 0;
  const auto value = read_day(node->text);
  if (!value) {
    faults_->add(node->place, node->text, std::string(day_expected));
    return 0;
  }
  good(key, *node);
  return *value;
}

std::size_t MapReader::choose(std::string_view key, const std::vector<std::string>& known) {
  const Node* const node = want_scalar(key, one_of("", known));
  if (node == nullptr) return known.size();
  const auto found = std::find(known.begin(), known.end(), node->text);
  if (found == known.end()) {
    faults_->add(node->place, node->text, one_of(node->text, known));
  } else {
    good(key, *node);
  }
  return static_cast<std::size_t>(found - known.begin());
}

}  // namespace shankwright::library
