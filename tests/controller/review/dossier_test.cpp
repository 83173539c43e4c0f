#include "review/dossier.hpp"

#include <catch2/catch.hpp>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "record/store.hpp"
#include "review/layout.hpp"
#include "sample_record.hpp"

using namespace shankwright;
using nlohmann::json;

namespace {

struct Sample {
  Sample() {
    std::string name = (std::filesystem::temp_directory_path() / "shankwright-review-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    folder = name;
    store = record::SqliteStore::open(folder / "data").value();
    serials = review_test::write_sample(*store);
  }
  ~Sample() {
    store.reset();
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }
  Sample(const Sample&) = delete;
  Sample& operator=(const Sample&) = delete;

  [[nodiscard]] json dossier(const std::string& serial) const {
    return json::parse(review::dossier_json(*store, serial).value());
  }

  std::filesystem::path folder;
  std::shared_ptr<record::SqliteStore> store;
  review_test::SampleSerials serials;
};

std::string read(const std::filesystem::path& file) {
  std::ifstream in(file);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

// What a person has read and found right stands in approved/; what is printed now must be the same. On a
// difference the new text lies in the build folder: compare the two, and copy it over when the new one is
// better.
void approve(const std::string& name, const std::string& text) {
  const auto approved =
      std::filesystem::path(SOURCE_DIR) / "tests/controller/review/approved" / (name + ".txt");
  const auto received = std::filesystem::path(BINARY_DIR) / (name + ".received.txt");
  if (read(approved) == text) {
    std::filesystem::remove(received);
    return;
  }
  std::ofstream(received) << text;
  INFO("approved: " << approved << "\nreceived: " << received);
  CHECK(text == read(approved));
}

}  // namespace

TEST_CASE("the dossier reads as approved") {
  const Sample sample;
  approve("dossier_accepted", review::dossier_text(*sample.store, sample.serials.accepted).value());
  approve("dossier_held", review::dossier_text(*sample.store, sample.serials.held).value());
  approve("dossier_begun", review::dossier_text(*sample.store, sample.serials.begun).value());
}

TEST_CASE("no line of a dossier is wider than the page, and none moves the reader's cursor") {
  const Sample sample;
  for (const auto& serial : {sample.serials.accepted, sample.serials.held, sample.serials.begun}) {
    std::istringstream text(review::dossier_text(*sample.store, serial).value());
    for (std::string line; std::getline(text, line);) {
      INFO(line);
      CHECK(review::width(line) <= 110);
      CHECK(line.find('\x1b') == std::string::npos);
    }
  }
}

TEST_CASE("the dossier in JSON carries every entry of the record in order, with its body whole") {
  const Sample sample;
  for (const auto& serial : {sample.serials.accepted, sample.serials.held, sample.serials.begun}) {
    const auto dossier = sample.dossier(serial);
    const auto stored = sample.store->entries(serial, true).value();
    const auto& entries = dossier.at("entries");
    REQUIRE(entries.size() == stored.size());
    for (std::size_t index = 0; index < stored.size(); ++index) {
      const auto& entry = stored[index].entry;
      CHECK(entries[index].at("sequence") == stored[index].sequence);
      CHECK(entries[index].at("kind") == entry.kind);
      CHECK(entries[index].at("event") == entry.event);
      CHECK(entries[index].at("actor") == entry.actor);
      CHECK(entries[index].at("stage") == entry.stage);
      const auto body = json::parse(entry.body_json, nullptr, false);
      CHECK(entries[index].at("body") == (body.is_discarded() ? json(entry.body_json) : body));
    }
    CHECK(dossier.at("state") == json::parse(stored.back().entry.state_json));
    CHECK(dossier.at("recipe") == json::parse(sample.store->fitting(serial).value().joined_recipe_json));
  }
}

TEST_CASE("every bite stands in the dossier with all its samples and what they add up to") {
  const Sample sample;
  const auto dossier = sample.dossier(sample.serials.accepted);
  std::vector<ports::StoredEntry> bites;
  const auto all = sample.store->entries(sample.serials.accepted, true);
  for (const auto& stored : all.value())
    if (!stored.entry.trace.empty()) bites.push_back(stored);
  REQUIRE(dossier.at("bites").size() == bites.size());
  REQUIRE(bites.size() == 3);
  for (std::size_t index = 0; index < bites.size(); ++index) {
    const auto& bite = dossier.at("bites")[index];
    const auto& trace = bites[index].entry.trace;
    CHECK(bite.at("entry") == bites[index].sequence);
    REQUIRE(bite.at("rows").size() == trace.size());
    double peak = 0, least = 1e9;
    for (std::size_t row = 0; row < trace.size(); ++row) {
      REQUIRE(bite.at("rows")[row] == json({trace[row].time_ms, trace[row].pressure_bar, trace[row].gap_mm}));
      peak = std::max(peak, trace[row].pressure_bar);
      least = std::min(least, trace[row].gap_mm);
    }
    CHECK(bite.at("peak_pressure_bar") == peak);
    CHECK(bite.at("least_gap_mm") == least);
    CHECK(bite.at("samples") == trace.size());
  }
  CHECK(dossier.at("bites")[1].at("dwell_ms") == 302);
  CHECK(dossier.at("bites")[2].at("pass") == 2);
}

TEST_CASE("a hole in a trace shows in the samples themselves and in what the station counted") {
  const Sample sample;
  const auto dossier = sample.dossier(sample.serials.held);
  const auto& bite = dossier.at("bites").at(0);
  CHECK(bite.at("samples") == 290);
  CHECK(bite.at("samples_missing") == 10);
  CHECK(bite.at("longest_step_ms") == 22);
  CHECK(sample.dossier(sample.serials.accepted).at("bites").at(1).at("longest_step_ms") == 2);
  CHECK(dossier.at("fitting").at("verdict") == "held");
  CHECK(dossier.at("standing").at(0).at("code") == "trace_has_hole");
  CHECK_FALSE(dossier.at("standing").at(0).at("what").get<std::string>().empty());
}

TEST_CASE("what an entry does not say is null in the dossier and not nought") {
  const Sample sample;
  const auto bite = sample.dossier(sample.serials.begun).at("bites").at(0);
  for (const auto* key : {"pass", "bite", "peak_pressure_bar", "peak_force_kn", "least_gap_mm", "dwell_ms",
                          "duration_ms", "samples_missing", "longest_step_ms"})
    CHECK(bite.at(key).is_null());
  CHECK(bite.at("rows").empty());
}

TEST_CASE("gauges are named with what they were used for, refused readings left out") {
  const Sample sample;
  CHECK(sample.dossier(sample.serials.accepted).at("gauges") ==
        json::parse(
            R"([{"id":"caliper-1","kind":"","used_for":["rope_diameter","insertion"],"calibration_due":""},
                        {"id":"micrometer-1","kind":"","used_for":["shank_diameter","across_flats"],"calibration_due":""},
                        {"id":"protractor-1","kind":"","used_for":["turn"],"calibration_due":""}])"));
}

TEST_CASE("a finding this program does not know is shown by its name") {
  const Sample sample;
  const auto dossier = sample.dossier(sample.serials.begun);
  const auto& finding = dossier.at("entries").at(2).at("findings").at(0);
  CHECK(finding.at("code") == "from_a_later_version");
  CHECK(finding.at("what") == "from_a_later_version");
}

TEST_CASE("the caution stands on every dossier") {
  const Sample sample;
  CHECK(sample.dossier(sample.serials.begun)
            .at("cautions")
            .at(0)
            .get<std::string>()
            .find("not a safety function") != std::string::npos);
  CHECK(review::dossier_text(*sample.store, sample.serials.begun).value().find("not a safety function") !=
        std::string::npos);
}

TEST_CASE("an unknown serial is a problem at the serial") {
  const Sample sample;
  for (const auto& serial : {sample.serials.given, std::string("SW-1"), std::string()}) {
    const auto dossier = review::dossier_json(*sample.store, serial);
    REQUIRE_FALSE(dossier.ok());
    CHECK(dossier.problem().place == "serial");
    CHECK_FALSE(review::dossier_text(*sample.store, serial).ok());
  }
}
