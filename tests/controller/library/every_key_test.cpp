#include <catch2/catch.hpp>
#include <random>
#include <regex>
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

/// Every key of a shipped file: a word at the start of a line or after "{", "," or "- ", followed by a colon.
/// Shipped texts keep to this on purpose.
std::vector<Key> keys_of(const std::string& text) {
  static const std::regex pattern(R"(([{,]\s*|\n\s*(- )?)([a-z_]+):(?=[ \n]))");
  std::vector<Key> out;
  const std::string ahead = "\n" + text;
  for (std::sregex_iterator match(ahead.begin(), ahead.end(), pattern), end; match != end; ++match) {
    const auto at = static_cast<std::size_t>(match->position(3)) - 1;
    const std::size_t line_start = text.rfind('\n', at);
    const std::size_t hash = text.find('#', line_start == std::string::npos ? 0 : line_start);
    if (hash < at) continue;  // a word in a comment
    out.push_back(
        {at, static_cast<std::size_t>(match->length(3)), place_of(text.substr(0, at) + "\x01", "\x01")});
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

TEST_CASE("A key left out anywhere in any shipped file is a fault that names it") {
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
      const bool named = std::any_of(faults.begin(), faults.end(), [&](const Problem& fault) {
        return fault.found == "no key \"" + name + "\"";
      });
      if (!named)
        FAIL_CHECK(shipped.file.string() << " " << key.place << " " << name << ":\n" << shown(faults));
    }
  }
}

TEST_CASE("A unit left off anywhere in any shipped file is a fault at that value") {
  static const std::regex quantity(R"((\d) (mm|in|cm2|kN|lbf|tonnef|bar|deg|ms|s|%)(?=[\n,} ]))");
  std::size_t tried = 0;
  for (const Shipped& shipped : all_shipped()) {
    for (std::sregex_iterator match(shipped.text.begin(), shipped.text.end(), quantity), end; match != end;
         ++match) {
      const auto at = static_cast<std::size_t>(match->position(2));
      const std::size_t value = shipped.text.find_last_of(":", at) + 2;
      // Figures in comments and in the prose of a source are nobody's quantity.
      const std::size_t line_start = shipped.text.rfind('\n', at) + 1;
      const std::string line = shipped.text.substr(line_start, at - line_start);
      static const std::regex key_first(R"(^\s*(- )?\{?[a-z_]+:)");
      if (line.find('#') != std::string::npos || !std::regex_search(line, key_first)) continue;
      if (line.rfind("source:", 0) == 0) continue;
      std::string text = shipped.text;
      text.erase(at - 1, static_cast<std::size_t>(match->length(2)) + 1);
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
