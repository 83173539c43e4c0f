#include <catch2/catch.hpp>
#include <random>

#include "library/node.hpp"
#include "library_folder.hpp"

using namespace shankwright;
using namespace shankwright::library;
using namespace shankwright::library::tests;

namespace {

std::vector<Problem> faults_in(const std::string& text) {
  FaultList faults("f");
  (void)parse_yaml(text, faults);
  return faults.take();
}

std::string repeated(const std::string& part, std::size_t times) {
  std::string out;
  for (std::size_t i = 0; i < times; ++i) out += part;
  return out;
}

}  // namespace

TEST_CASE("Every node knows its line and column, and duplicate keys survive") {
  FaultList faults("f");
  const auto root = parse_yaml("# a comment\nid: a\nband: {least: 1 mm, most: 2 mm}\nid: b\n", faults);
  REQUIRE(root);
  CHECK(faults.empty());
  REQUIRE(root->entries.size() == 3);
  CHECK(root->place.line == 2);
  CHECK(root->entries[1].second.entries[1].second.place.line == 3);
  CHECK(root->entries[1].second.entries[1].second.place.column == 27);
  CHECK(root->entries[2].second.text == "b");
}

TEST_CASE("Text that could grow, hide or never end is refused at its place") {
  struct Row {
    std::string text, place, found;
  };
  const std::vector<Row> rows{
      {"a: &x 1\nb: 2\n", "1:4", "an anchor"},
      {"a: &x 1\nb: *x\n", "2:4", "an alias"},
      {"a: !!binary aGk=\n", "1:4", "tag"},
      {"a: 1\n---\nb: 2\n", "2:1", "a second document"},
      {std::string("a: 1\nb: x\0y\n", 12), "2:5", "a control character (byte 0)"},
      {"a: \x1b[31m\n", "1:4", "a control character (byte 27)"},
      {"a: 1\nb: \xff\n", "2:4", "a byte that is not UTF-8"},
      {"", "1:1", "nothing"},
      {"# only a comment\n", "1:1", "nothing"},
      {"a: [1, 2\n", "2:1", "what is no YAML"},
      {"a: 'never ends\n", "1:4", "a quoted text that never ends"},
      {"a: 'it''s fine'\nb: 'never''\n", "2:4", "a quoted text that never ends"},
      {"a: \"x\\\"\nb: 2\n", "1:4", "a quoted text that never ends"},
      {"a: b: c\n", "1:5", "what is no YAML"},
      {repeated("[", 17) + repeated("]", 17), "1:17", "nesting deeper than 16 levels"},
      {repeated("x", file_bytes_most + 1), "1:1", "262145 bytes"},
  };
  for (const Row& row : rows) {
    INFO(row.text.substr(0, 60));
    const auto faults = faults_in(row.text);
    REQUIRE_FALSE(faults.empty());
    bool seen = false;
    for (const Problem& fault : faults)
      seen = seen || (fault.place == "f:" + row.place && fault.found.rfind(row.found, 0) == 0);
    INFO(faults.front().text());
    CHECK(seen);
  }
}

TEST_CASE("A file that is nested without end is refused before the parser follows it") {
  // Each fills the largest file with one kind of opening. Following them would end the process.
  for (const std::string opening :
       {"[", "{", "{a: ", "- ", "? ", "[{", "a: [", "- {b: ", "- - [", "&a [", "!t {"}) {
    INFO(opening);
    const auto faults = faults_in(repeated(opening, file_bytes_most / opening.size()));
    CHECK_FALSE(faults.empty());
  }
  std::string stairs;
  for (int i = 0; i < 600; ++i) stairs += std::string(static_cast<std::size_t>(i), ' ') + "a:\n";
  CHECK_FALSE(faults_in(stairs).empty());
  // One level less than the bound is fine.
  FaultList faults("f");
  CHECK(parse_yaml(repeated("[", 16) + repeated("]", 16), faults));
  CHECK(faults.empty());
}

TEST_CASE("Random bytes are never read in any other way than with a tree or a fault") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const std::string alphabet = "{}[]:,-?!&*#|>'\"%@` \n\tab0.\\<=~";
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    const auto length = random() % 60;
    for (unsigned n = 0; n < length; ++n) text += alphabet[random() % alphabet.size()];
    FaultList faults("f");
    const auto root = parse_yaml(text, faults);
    CHECK((root.has_value() || !faults.empty()));
  }
}
