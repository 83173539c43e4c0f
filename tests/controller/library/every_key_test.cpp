#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <set>

#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

struct Key {
  std::size_t at, length;
  std::string place;
};

bool is_key_letter(char c) {
  return (c >= 'a' && c <= 'z') || c == '_';
}

/// Text of the line before `at`.
std::string line_before(const std::string& text, std::size_t at) {
  const std::size_t start = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
  return text.substr(start == std::string::npos ? 0 : start + 1,
                     at - (start == std::string::npos ? 0 : start + 1));
}

/// Every key of a shipped file: a word at the start of a line or after "{", "," or "- ", followed by a colon.
/// Shipped texts keep to this on purpose.
std::vector<Key> keys_of(const std::string& text) {
  std::vector<Key> out;
  for (std::size_t colon = text.find(':'); colon != std::string::npos; colon = text.find(':', colon + 1)) {
    if (text[colon + 1] != ' ' && text[colon + 1] != '\n') continue;
    std::size_t at = colon;
    while (at > 0 && is_key_letter(text[at - 1])) --at;
    const std::string before = line_before(text, at);
    const std::size_t last = before.find_last_not_of(' ');
    const bool first = last == std::string::npos || before[last] == '{' || before[last] == ',' ||
                       (before[last] == '-' && before.find_first_not_of(' ') == last);
    if (at == colon || !first || before.find('#') != std::string::npos) continue;
    if (last != std::string::npos && before[last] == ',' && before.find('{') == std::string::npos)
      continue;  // prose
    out.push_back({at, colon - at, place_of(text.substr(0, at) + "\x01", "\x01")});
  }
  return out;
}

/// Where the units of quantities stand: after a figure and a space, in a line that begins with a key.
std::vector<std::pair<std::size_t, std::size_t>> units_of(const std::string& text) {
  static const std::set<std::string> units{"mm",  "in", "cm2", "kN", "lbf", "tonnef", "bar",
                                           "deg", "ms", "s",   "%",  "MPa", "GPa"};
  std::vector<std::pair<std::size_t, std::size_t>> out;
  for (std::size_t at = 2; at < text.size(); ++at) {
    if (text[at - 1] != ' ' || text[at - 2] < '0' || text[at - 2] > '9') continue;
    const std::size_t end = text.find_first_of("\n,} ", at);
    const std::string line = line_before(text, at);
    // Figures in comments and in the prose of a source are nobody's quantity.
    std::size_t key = line.find_first_not_of(" -{");
    if (key == std::string::npos || line.find('#') != std::string::npos || line.rfind("source:", 0) == 0)
      continue;
    while (key < line.size() && is_key_letter(line[key])) ++key;
    if (key < line.size() && line[key] == ':' && units.contains(text.substr(at, end - at)))
      out.emplace_back(at, end - at);
  }
  return out;
}

std::string shown(const std::vector<Problem>& faults) {
  std::string out;
  for (const Problem& fault : faults) out += fault.text() + "\n";
  return out;
}

}  // namespace

TEST_CASE("Every shipped file reads without a fault of its own") {
  for (const Shipped& shipped : all_shipped()) {
    INFO(shipped.file.string());
    const auto faults = faults_of(shipped.kind, shipped.text);
    INFO(shown(faults));
    CHECK(faults.empty());
  }
}

TEST_CASE("A key misspelt anywhere in any shipped file is a fault at that key") {
  std::size_t tried = 0;
  for (const Shipped& shipped : all_shipped()) {
    for (const Key& key : keys_of(shipped.text)) {
      std::string text = shipped.text;
      text.insert(key.at + key.length, "q");
      const auto faults = faults_of(shipped.kind, text);
      const bool named = std::any_of(faults.begin(), faults.end(), [&](const Problem& fault) {
        return line_and_column(fault) == key.place &&
               fault.found.find(text.substr(key.at, key.length + 1)) != std::string::npos;
      });
      ++tried;
      if (!named) FAIL_CHECK(shipped.file.string() << " " << key.place << ":\n" << shown(faults));
    }
  }
  CHECK(tried > 1000);
}

TEST_CASE("A key left out anywhere in any shipped file is a fault that names it, unless it came later") {
  // What older files do not have stays out without a fault.
  static const std::set<std::string> optional{
      "rope_grade", "breaking_force_factor", "elastic_modulus", "mass_factor",
      "end",        "pin_to_bore_end",       "proof",           "two_person_disposition"};
  std::set<std::string> left_out;
  for (const Shipped& shipped : all_shipped()) {
    for (const Key& key : keys_of(shipped.text)) {
      // Takes the key with its value: to the end of an inline item, or to the next line no further in than
      // the key.
      std::string text = shipped.text;
      const std::string name = text.substr(key.at, key.length);
      const std::size_t line_start = text.rfind('\n', key.at) + 1;
      const std::size_t indent = key.at - line_start;
      if (text.substr(line_start, indent).find_first_not_of(' ') == std::string::npos) {
        std::size_t end = text.find('\n', key.at) + 1;
        while (
            end < text.size() &&
            (text[end] == '\n' || text.substr(end, indent + 1).find_first_not_of(' ') == std::string::npos)) {
          end = text.find('\n', end) + 1;
        }
        text.erase(line_start, end - line_start);
      } else if (text.compare(line_start + indent - 2, 2, "- ") == 0) {
        text.erase(key.at,
                   text.find('\n', key.at) - key.at);  // "- pass: 1" becomes "-" with the rest below it
        text.insert(key.at, "x_x: 1");
      } else {
        const std::size_t end = text.find_first_of(",}", key.at);
        text.erase(key.at, text[end] == ',' ? end + 2 - key.at : end - key.at);
      }
      const auto faults = faults_of(shipped.kind, text);
      if (optional.contains(name)) {
        if (!faults.empty())
          FAIL_CHECK(shipped.file.string() << " without " << name << ":\n" << shown(faults));
        left_out.insert(name);
        continue;
      }
      const bool named = std::any_of(faults.begin(), faults.end(), [&](const Problem& fault) {
        return fault.found == "no key \"" + name + "\"";
      });
      if (!named)
        FAIL_CHECK(shipped.file.string() << " " << key.place << " " << name << ":\n" << shown(faults));
    }
  }
  CHECK(left_out == optional);
}

TEST_CASE("A unit left off anywhere in any shipped file is a fault at that value") {
  std::size_t tried = 0;
  for (const Shipped& shipped : all_shipped()) {
    for (const auto& [at, length] : units_of(shipped.text)) {
      const std::size_t value = shipped.text.find_last_of(':', at) + 2;
      std::string text = shipped.text;
      text.erase(at - 1, length + 1);
      const auto faults = faults_of(shipped.kind, text);
      ++tried;
      const std::string place = place_of(text.substr(0, value) + "\x01", "\x01");
      const bool named = std::any_of(faults.begin(), faults.end(),
                                     [&](const Problem& fault) { return line_and_column(fault) == place; });
      if (!named) FAIL_CHECK(shipped.file.string() << " " << place << ":\n" << shown(faults));
    }
  }
  CHECK(tried > 600);
}

TEST_CASE("Bytes changed at random in shipped files give values or faults and nothing else") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const auto shipped = all_shipped();
  for (int i = 0; i < 20000; ++i) {
    const Shipped& file = shipped[random() % shipped.size()];
    std::string text = file.text;
    const auto changes = 1 + random() % 6;
    for (unsigned n = 0; n < changes; ++n) {
      const std::size_t at = random() % text.size();
      switch (random() % 4) {
        case 0:
          text[at] = static_cast<char>(random() % 256);
          break;
        case 1:
          text[at] = static_cast<char>(text[at] ^ (1 << random() % 8));
          break;
        case 2:
          text.erase(at, 1 + random() % 8);
          break;
        default:
          text.insert(at, 1, "{}[]:,-\n &*!#'\"|>%"[random() % 18]);
          break;
      }
      if (text.empty()) text = " ";
    }
    for (const Problem& fault : faults_of(file.kind, text)) {
      CHECK(fault.place.rfind("f:", 0) == 0);
      CHECK_FALSE(fault.found.empty());
      CHECK_FALSE(fault.expected.empty());
    }
  }
}

TEST_CASE("A library with a file changed at random loads, and offers no recipe that cannot be joined") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const LibraryFolder folder;
  const auto shipped = all_shipped();
  for (int i = 0; i < 150; ++i) {
    const Shipped& file = shipped[random() % shipped.size()];
    const std::string name =
        file.file.parent_path().filename().string() + "/" + file.file.filename().string();
    std::string text = file.text;
    for (int n = 0; n < 3; ++n) text[random() % text.size()] = static_cast<char>(' ' + random() % 95);
    folder.write(name, text);
    const Library library = load(folder.path());
    for (const auto& [id, recipe] : library.recipes) CHECK(join(library, id).ok());
    folder.write(name, file.text);
  }
}
