#include "review/measurement.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "../papers/paper_record.hpp"
#include "record/seal_code.hpp"
#include "review/dossier.hpp"
#include "support/tools.hpp"

// What was read against what it was judged by, and what the dossier says beside the readings.
using namespace shankwright;
using namespace shankwright::review;
using nlohmann::json;
using papers_test::write_fitting;

namespace {

struct Shop {
  Shop() : store(record::SqliteStore::open(folder / "data").value()) {}
  tests::ScratchFolder folder;
  std::shared_ptr<record::SqliteStore> store;
};

std::vector<Measurement> read_of(const Shop& shop, const std::string& serial) {
  return measurements(collect(*shop.store, serial).value());
}

const Measurement& named(const std::vector<Measurement>& all, const std::string& name) {
  for (const auto& one : all)
    if (one.name == name && !one.superseded) return one;
  FAIL("no measurement called " << name);
  throw std::logic_error("unreachable");
}

json dossier(const Shop& shop, const std::string& serial) {
  return json::parse(dossier_json(*shop.store, serial).value());
}

std::string sequence_of(const json& entry) {
  return std::to_string(entry.at("sequence").get<std::int64_t>());
}

/// Evidence of one reading across flats, U = 0.004 mm, accepted 7.90 to 8.05 mm.
Against judged_across_flats(double value_mm) {
  Evidence evidence;
  evidence.recipe = json::parse(R"({"recipe":{"across_flats_mm":{"least":7.9,"most":8.05}}})");
  EntryEvidence entry;
  entry.kind = "evidence";
  entry.event = "across_flats";
  entry.event_fields = {{"stations_mm", {{value_mm}}}, {"tool", {{"expanded_uncertainty_mm", 0.004}}}};
  evidence.entries.push_back(entry);
  return measurements(evidence).at(0).against;
}

}  // namespace

// ILAC-G8:09/2019, 4.2.3 with guard band w = U, as the procedure decides.
TEST_CASE("size across flats is proven only a gauge's uncertainty away from its limits") {
  CHECK(judged_across_flats(7.95) == Against::inside);
  CHECK(judged_across_flats(7.904) == Against::inside);
  CHECK(judged_across_flats(7.9039) == Against::not_proven);
  CHECK(judged_across_flats(8.046) == Against::inside);
  CHECK(judged_across_flats(8.0461) == Against::not_proven);
  CHECK(judged_across_flats(8.0501) == Against::outside);
  CHECK(judged_across_flats(7.8999) == Against::outside);
}

TEST_CASE("growth and slip are worked out as the procedure has it, marks are judged by the bore measured") {
  const Shop shop;
  const auto read = read_of(shop, write_fitting(*shop.store, {}));
  CHECK(named(read, "growth").values.at(0) == Approx((58.16 - 52.0) / 44));  // swage length 44 mm
  CHECK(named(read, "slip").values.at(0) == Approx(-5.9 - (0.1 - 6.16)));
  const auto& mark = named(read, "depth mark from the rope's end");
  CHECK(*mark.least == Approx(51.6));  // bore 52.1 mm, tolerance 0.5 mm
  CHECK(*mark.most == Approx(52.6));
  CHECK(named(read, "rope diameter").values == std::vector<double>{4.81, 4.8, 4.82});
  CHECK(named(read, "rope diameter").gauge_calibration_due == "2031-12-31");
  for (const auto& one : read) CHECK((one.against == Against::inside || one.against == Against::no_limits));
}

TEST_CASE("gauging before a re-press is superseded, and the bites of both passes stand") {
  const Shop shop;
  const auto read = read_of(shop, write_fitting(*shop.store, {.re_pressed = true}));
  int old_flats = 0, standing_flats = 0, peaks = 0;
  for (const auto& one : read) {
    if (one.event == "across_flats") ++(one.superseded ? old_flats : standing_flats);
    if (one.name == "peak force" && !one.superseded) ++peaks;
    if (one.event == "across_flats" && one.superseded) CHECK(one.against == Against::outside);
  }
  CHECK(old_flats == 1);
  CHECK(standing_flats == 1);
  CHECK(peaks == 3);
}

TEST_CASE("the dossier tells what the register said, or null where an older record does not") {
  const Shop shop;
  const auto told = dossier(shop, write_fitting(*shop.store, {}));
  CHECK(told.at("registered").at("die_pair").at("strokes") == 12345);
  CHECK(told.at("registered").at("operator").at("qualified_until") == "2032-02-29");
  CHECK(told.at("gauges").at(0).at("calibration_due") == "2031-12-31");
  CHECK(told.at("gauges").at(0).at("kind") == "caliper");
  const auto text = dossier_text(*shop.store, told.at("fitting").at("serial").get<std::string>()).value();
  CHECK(text.find("serial D-1188, 12345 strokes done of 50000, inspection due 2031-09-30") !=
        std::string::npos);
}

TEST_CASE("a correction points at the old entry and the old entry at it, in JSON and in text") {
  const Shop shop;
  const auto serial = write_fitting(*shop.store, {.corrected = true});
  const auto entries = dossier(shop, serial).at("entries");
  json old_one, new_one;
  for (const auto& entry : entries) {
    if (entry.at("event") == "shank_diameter") old_one = entry;
    if (entry.at("event") == "corrected") new_one = entry;
  }
  CHECK(old_one.at("corrected_by") == json::array({new_one.at("sequence")}));
  CHECK(old_one.at("corrects").is_null());
  CHECK(new_one.at("corrects") == old_one.at("sequence"));
  CHECK(new_one.at("text") == "The shank read 9.13 mm, not 9.12 mm.");
  CHECK(old_one.at("body").at("event").at("value_mm") == 9.12);
  const auto text = dossier_text(*shop.store, serial).value();
  CHECK(text.find("corrected by entry " + sequence_of(new_one)) != std::string::npos);
  CHECK(text.find("corrects entry " + sequence_of(old_one)) != std::string::npos);
}

TEST_CASE("holds and dispositions are told apart: who proposed, who decided, and whether it was signed") {
  const Shop shop;
  const auto told =
      dossier(shop, write_fitting(*shop.store, {.held_and_used_as_is = true, .two_persons = true}));
  REQUIRE(told.at("holds").size() == 1);
  CHECK(told.at("holds").at(0).at("findings").at(0).at("code") == "growth_low");
  REQUIRE(told.at("dispositions").size() == 2);
  CHECK(told.at("dispositions").at(0).at("proposed") == true);
  CHECK(told.at("dispositions").at(0).at("actor") == "first-reviewer");
  CHECK(told.at("dispositions").at(1).at("proposed") == false);
  CHECK(told.at("dispositions").at(1).at("actor") == "demo-reviewer");
  CHECK(told.at("dispositions").at(1).at("signed") == true);
}

TEST_CASE("quarantine of something it was made with is told, of anything else it is not") {
  const Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  papers_test::quarantine(*shop.store, "rope-lot-7", false);
  papers_test::quarantine(*shop.store, "another-lot", false);
  const auto told = dossier(shop, serial).at("quarantines");
  REQUIRE(told.size() == 1);
  CHECK(told.at(0).at("id") == "rope-lot-7");
  CHECK(still_quarantined(collect(*shop.store, serial).value()).size() == 1);
  papers_test::quarantine(*shop.store, "rope-lot-7", true);
  CHECK(still_quarantined(collect(*shop.store, serial).value()).empty());
  CHECK(dossier(shop, serial).at("quarantines").size() == 2);
}

TEST_CASE("the dossier carries the seal's codes, or says that there is none") {
  const Shop shop;
  const auto sealed = write_fitting(*shop.store, {});
  const auto open = write_fitting(*shop.store, {.sealed = false});
  const auto seal = shop.store->seal_over(sealed).value();
  CHECK(dossier(shop, sealed).at("seal").at("full_code") == record::full_code(seal));
  CHECK(dossier(shop, sealed).at("not_sealed_because") == "");
  CHECK(dossier(shop, open).at("seal").is_null());
  CHECK(dossier(shop, open).at("not_sealed_because") != "");
  CHECK(dossier_text(*shop.store, open).value().find("not sealed yet") != std::string::npos);
  CHECK(dossier_text(*shop.store, sealed).value().find(record::short_code(seal)) != std::string::npos);
}
