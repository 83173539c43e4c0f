#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

#include "library/job.hpp"
#include "library/shop.hpp"
#include "library_folder.hpp"

using namespace shankwright::library;
using namespace shankwright::library::tests;
using nlohmann::json;

namespace {

/// Dotted paths of every key a schema knows, list positions left out, as Places::asked has them.
void collect(const json& schema, const std::string& path, std::set<std::string>& into) {
  if (schema.contains("properties")) {
    for (const auto& [key, inner] : schema["properties"].items()) {
      const std::string below = path.empty() ? key : path + "." + key;
      into.insert(below);
      collect(inner, below, into);
    }
  }
  if (schema.contains("items")) collect(schema["items"], path + "[]", into);
}

std::set<std::string> schema_keys(const std::string& kind) {
  std::set<std::string> out;
  collect(json::parse(read_text(SOURCE_DIR "/recipes/schema/" + kind + ".schema.json")), "", out);
  return out;
}

template <typename Read>
std::set<std::string> loader_keys(FileKind kind, Read read) {
  std::set<std::string> out;
  for (const Shipped& shipped : all_shipped()) {
    if (shipped.kind != kind) continue;
    FaultList faults("f");
    const auto root = parse_yaml(shipped.text, faults);
    const auto asked = read(*root, faults).places.asked;
    out.insert(asked.begin(), asked.end());
  }
  return out;
}

}  // namespace

TEST_CASE("The schemas know exactly the keys that the loader knows") {
  CHECK(schema_keys("rope") == loader_keys(FileKind::rope, read_rope));
  CHECK(schema_keys("terminal") == loader_keys(FileKind::terminal, read_terminal));
  CHECK(schema_keys("die_pair") == loader_keys(FileKind::die_pair, read_die_pair));
  CHECK(schema_keys("gauge") == loader_keys(FileKind::gauge, read_gauge));
  CHECK(schema_keys("press") == loader_keys(FileKind::press, read_press));
  CHECK(schema_keys("recipe") == loader_keys(FileKind::recipe, read_recipe));

  FaultList faults("f");
  Places places;
  const auto root = parse_yaml(
      "name: x\npeople: [{}]\nrope_lots: [{}]\nterminal_lots: [{}]\ngauges: [{}]\ndie_pairs: [{}]\npresses: "
      "[{}]\n",
      faults);
  (void)read_shop(*root, nullptr, faults, places);
  CHECK(schema_keys("shop") == places.asked);

  std::set<std::string> of_jobs;
  for (const char* job : {"shrouds-5mm", "control-cable-1-8", "mixed-ends"}) {
    Places asked;
    const auto text = read_text(std::string(SOURCE_DIR "/simulators/demo_data/jobs/") + job + ".yaml");
    (void)read_job(*parse_yaml(text, faults), nullptr, faults, asked);
    of_jobs.insert(asked.asked.begin(), asked.asked.end());
  }
  CHECK(schema_keys("job") == of_jobs);
}

TEST_CASE("README names every key of every kind") {
  const std::string readme = read_text(SOURCE_DIR "/recipes/README.md");
  for (const char* kind : {"rope", "terminal", "die_pair", "gauge", "press", "recipe", "shop", "job"}) {
    for (const std::string& path : schema_keys(kind)) {
      const std::string key = path.substr(path.rfind('.') == std::string::npos ? 0 : path.rfind('.') + 1);
      INFO(kind << " " << path);
      const bool named =
          readme.find("`" + key + "`") != std::string::npos || readme.find(key + ":") != std::string::npos;
      CHECK(named);
    }
  }
}
