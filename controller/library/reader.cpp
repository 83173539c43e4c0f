#include "library/reader.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>

namespace shankwright::library {
namespace {

std::string found_in(const Node& node) {
  switch (node.kind) {
    case Node::Kind::nothing:
      return "nothing";
    case Node::Kind::scalar:
      return node.text;
    case Node::Kind::sequence:
      return "a list";
    case Node::Kind::map:
      return "a map";
  }
  return "";
}

std::string range_text(const QuantityKind& kind, Range range) {
  const auto shown = [&](double value) {
    return plain(value * kind.shown_per_inside) + " " + std::string(kind.unit);
  };
  return std::string(kind.name) + " from " + shown(range.least) + " to " + shown(range.most);
}

std::string without_positions(std::string_view path) {
  std::string out;
  bool inside = false;
  for (const char c : path) {
    if (c == ']') inside = false;
    if (!inside) out += c;
    if (c == '[') inside = true;
  }
  return out;
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
constexpr std::string_view id_expected = "small letters, digits and hyphens, at most 64";

}  // namespace

std::string plain(double value) {
  std::array<char, 64> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, 10);
  return {buffer.data(), error == std::errc{} ? end : buffer.data()};
}

bool Places::all(std::initializer_list<std::string_view> paths) const {
  return std::all_of(paths.begin(), paths.end(),
                     [this](std::string_view path) { return good.contains(std::string(path)); });
}

Place Places::at(std::string_view path) const {
  const auto found = good.find(std::string(path));
  return found == good.end() ? Place{} : found->second;
}

MapReader::MapReader(const Node& node, std::string path, FaultList& faults, Places& places)
    : node_(node.kind == Node::Kind::map ? &node : nullptr),
      path_(std::move(path)),
      faults_(&faults),
      places_(&places) {
  if (node_ == nullptr) {
    faults_->add(node.place, found_in(node), "a map of keys and values");
    quiet_ = true;
  }
}

std::string MapReader::sub(std::string_view key) const {
  return path_.empty() ? std::string(key) : path_ + "." + std::string(key);
}

bool MapReader::has(std::string_view key) const {
  if (node_ == nullptr) return false;
  return std::any_of(node_->entries.begin(), node_->entries.end(), [&](const auto& entry) {
    return entry.first.kind == Node::Kind::scalar && entry.first.text == key;
  });
}

const Node* MapReader::want(std::string_view key, std::string expected) {
  places_->asked.insert(without_positions(sub(key)));
  wanted_.push_back({std::string(key), std::move(expected)});
  if (node_ == nullptr) return nullptr;
  for (const auto& [name, value] : node_->entries) {
    if (name.kind == Node::Kind::scalar && name.text == key) return &value;
  }
  return nullptr;
}

const Node* MapReader::want_scalar(std::string_view key, std::string expected) {
  const Node* const node = want(key, expected);
  if (node == nullptr) return nullptr;
  if (node->kind == Node::Kind::scalar && !node->text.empty()) return node;
  faults_->add(node->place, found_in(*node), std::move(expected));
  return nullptr;
}

void MapReader::good(std::string_view key, const Node& node) {
  places_->good[sub(key)] = node.place;
}

void MapReader::may_have(std::string_view key) {
  places_->asked.insert(without_positions(sub(key)));
  wanted_.push_back({std::string(key), "", false});
}

void MapReader::fault(std::string_view key, std::string expected) {
  if (node_ == nullptr) return;
  for (const auto& [name, value] : node_->entries) {
    if (name.kind == Node::Kind::scalar && name.text == key) {
      faults_->add(value.place, found_in(value), std::move(expected));
      places_->good.erase(sub(key));
      return;
    }
  }
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

MapReader MapReader::map(std::string_view key) {
  const Node* const node = want(key, "a map of keys and values");
  if (node != nullptr) return {*node, sub(key), *faults_, *places_};
  // The missing map is one fault; its keys are not listed one by one as well.
  static const Node none{Node::Kind::map, {}, {}, {}, {}};
  MapReader reader(none, sub(key), *faults_, *places_);
  reader.quiet_ = true;
  return reader;
}

std::vector<std::pair<const Node*, std::string>> MapReader::list(std::string_view key, std::size_t least,
                                                                 std::string_view of_what) {
  const std::string expected =
      "a list of " + std::string(of_what) + (least > 0 ? ", at least " + std::to_string(least) : "");
  const Node* const node = want(key, expected);
  if (node == nullptr) return {};
  if (node->kind != Node::Kind::sequence || node->items.size() < least) {
    faults_->add(node->place,
                 node->kind == Node::Kind::sequence ? "a list of " + std::to_string(node->items.size())
                                                    : found_in(*node),
                 expected);
    return {};
  }
  good(key, *node);
  std::vector<std::pair<const Node*, std::string>> out;
  for (std::size_t i = 0; i < node->items.size(); ++i) {
    out.emplace_back(&node->items[i], sub(key) + "[" + std::to_string(i) + "]");
  }
  return out;
}

std::vector<std::string> MapReader::id_list(std::string_view key, std::size_t least) {
  std::vector<std::string> out;
  std::map<std::string, Place> seen;
  for (const auto& [node, path] : list(key, least, "ids")) {
    if (node->kind != Node::Kind::scalar || !is_name(node->text, false)) {
      faults_->add(node->place, found_in(*node), std::string(id_expected));
      places_->good.erase(sub(key));
      continue;
    }
    const auto [first, fresh] = seen.emplace(node->text, node->place);
    if (!fresh) {
      faults_->add(node->place, "\"" + node->text + "\" a second time",
                   "each id once; it stands first at " + faults_->at(first->second));
      continue;
    }
    places_->good[path] = node->place;
    out.push_back(node->text);
  }
  return out;
}

std::map<std::string, std::int64_t> MapReader::days_by_id(std::string_view key) {
  std::map<std::string, std::int64_t> out;
  const Node* const node = want(key, "a map of ids, each with a day as YYYY-MM-DD");
  if (node == nullptr) return out;
  MapReader reader(*node, sub(key), *faults_, *places_);
  if (node->kind != Node::Kind::map) return out;
  good(key, *node);
  Places own;  // these keys are the writer's, not the loader's
  MapReader values(*node, sub(key), *faults_, own);
  for (const auto& [name, value] : node->entries) {
    if (name.kind != Node::Kind::scalar || !is_name(name.text, false)) {
      faults_->add(name.place, found_in(name), std::string(id_expected));
      values.may_have(name.text);
    } else if (!out.contains(name.text)) {
      const std::int64_t day = values.day(name.text);
      if (!own.all({sub(key) + "." + name.text})) continue;
      out[name.text] = day;
      places_->good[sub(key) + "." + name.text] = name.place;
    }
  }
  values.finish();
  return out;
}

void MapReader::finish() {
  if (node_ == nullptr) return;
  std::vector<std::string> known;
  std::vector<std::string> missing;
  for (const Wanted& wanted : wanted_) {
    known.push_back(wanted.key);
    if (wanted.required && !has(wanted.key)) missing.push_back(wanted.key);
  }
  std::map<std::string, Place> seen;
  for (const auto& [name, value] : node_->entries) {
    if (name.kind != Node::Kind::scalar) {
      faults_->add(name.place, found_in(name), "a key");
      continue;
    }
    const auto [first, fresh] = seen.emplace(name.text, name.place);
    if (!fresh) {
      faults_->add(name.place, "key \"" + name.text + "\" a second time",
                   "each key once; it stands first at " + faults_->at(first->second));
      continue;
    }
    if (std::find(known.begin(), known.end(), name.text) != known.end()) continue;
    // A misspelt key is one fault at the misspelling, not a second one about the key that is missing for it.
    std::string meant = nearest(name.text, missing);
    if (!meant.empty()) {
      missing.erase(std::find(missing.begin(), missing.end(), meant));
    } else {
      meant = nearest(name.text, known);
    }
    faults_->add(name.place, "unknown key \"" + name.text + "\"",
                 meant.empty() ? "a key known here: " + one_of("", known)
                               : "a key known here; the nearest is \"" + meant + "\"");
  }
  if (quiet_) return;
  for (const Wanted& wanted : wanted_) {
    if (std::find(missing.begin(), missing.end(), wanted.key) == missing.end()) continue;
    missing.erase(std::find(missing.begin(), missing.end(), wanted.key));
    faults_->add(node_->place, "no key \"" + wanted.key + "\"", "\"" + wanted.key + "\": " + wanted.expected);
  }
}

}  // namespace shankwright::library
