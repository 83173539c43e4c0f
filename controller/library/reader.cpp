#include "library/reader.hpp"

#include <algorithm>

namespace shankwright::library {
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
    if (node->kind != Node::Kind::scalar || !is_id(node->text)) {
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
    if (name.kind != Node::Kind::scalar || !is_id(name.text)) {
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
