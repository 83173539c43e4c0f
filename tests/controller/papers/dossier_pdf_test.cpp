#include <catch2/catch.hpp>

#include "../review/sample_record.hpp"
#include "papers/dossier_pdf.hpp"
#include "printed.hpp"
#include "record/seal_code.hpp"

using namespace shankwright;
using namespace shankwright::papers_test;
using papers::UnitSystem;

namespace {

std::string dossier(const Shop& shop, const std::string& serial, UnitSystem units = UnitSystem::metric) {
  return papers::dossier_pdf(*shop.store, serial, {units, {}, issued_us}).value();
}

void must_hold(const std::string& text, std::initializer_list<const char*> wanted) {
  for (const auto* one : wanted) {
    INFO("wanted: " << one);
    CHECK(text.find(tests::without_blanks(one)) != std::string::npos);
  }
}

}  // namespace

TEST_CASE("the dossier has everything: register, recipe, readings, bites, entries and the seal") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.proof_load = true});
  const auto pdf = dossier(shop, serial);
  const auto text = text_of(shop.folder, pdf);
  must_hold(text,
            {"Dossier of", serial.c_str(), "accepted, released", "Demo Operator", "certificate RC-5520",
             "12345 of 50000 strokes done", "hexagon-4.8 revision 3, released",
             "7.97, 7.98, 7.97, 7.97, 7.97, 7.99 mm", "Force against gap", "Force against time",
             "Gap against time", "372.4 kN", "300.0 to 420.0 kN",
             "300 in 598 ms, longest step 2 ms, missing: 0", "proof load 9.1 kN", "Every entry on record",
             "readings 4.81, 4.8, 4.82 mm", "with caliper-1, calibration due 2031-12-31", "Integrity"});
  const auto seal = shop.store->seal_over(serial).value();
  must_hold(text, {record::short_code(seal).c_str()});
  CHECK(symbols_of(shop.folder, pdf) == std::vector<std::string>{record::full_code(seal)});
  CHECK(fonts_not_embedded(shop.folder, pdf).empty());
  CHECK(words_outside(shop.folder, pdf, 20).empty());
  for (const auto& entry : shop.store->entries(serial, false).value())
    must_hold(text, {std::to_string(entry.sequence).c_str()});
}

TEST_CASE("in inches even the charts are in inches") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  const auto text = text_of(shop.folder, dossier(shop, serial, UnitSystem::inch));
  must_hold(text, {"gap, in", "force, lbf", "125893 lbf", "4061 psi"});
}

TEST_CASE("a correction is shown both ways: the old entry names the new, the new one the old") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.corrected = true});
  const auto entries = shop.store->entries(serial, false).value();
  std::string old_one, new_one;
  for (const auto& entry : entries) {
    if (entry.entry.event == "shank_diameter") old_one = std::to_string(entry.sequence);
    if (entry.entry.event == "corrected") new_one = std::to_string(entry.sequence);
  }
  const auto text = text_of(shop.folder, dossier(shop, serial));
  must_hold(text, {("CORRECTED by entry " + new_one).c_str(), ("corrects entry " + old_one).c_str(),
                   "The shank read 9.13 mm, not 9.12 mm.", "misread, seen in the video", "9.12 mm"});
}

TEST_CASE("readings that a re-press made void stay in the dossier and are marked") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.re_pressed = true});
  must_hold(text_of(shop.folder, dossier(shop, serial)),
            {"8.11, 8.12, 8.11, 8.11, 8.11, 8.13 mm", "across flats *",
             "void since the fitting was pressed again"});
}

TEST_CASE("a record of an older program, in any state, can be read on paper and is marked NOT SEALED") {
  Shop shop;
  const auto serials = review_test::write_sample(*shop.store);
  for (const auto& serial : {serials.accepted, serials.held, serials.begun}) {
    const auto pdf = dossier(shop, serial);
    const auto text = text_of(shop.folder, pdf);
    must_hold(text, {serial.c_str(), "NOT SEALED", "Every entry on record"});
    CHECK(words_outside(shop.folder, pdf, 20).empty());
    CHECK(symbols_of(shop.folder, pdf).empty());
  }
  must_hold(text_of(shop.folder, dossier(shop, serials.begun)),
            {"no JSON at all ?[2J", "from_a_later_version"});
}

TEST_CASE("the dossier of an unknown serial is a problem at the serial") {
  Shop shop;
  const auto none = papers::dossier_pdf(*shop.store, "SW-000009-XX", {UnitSystem::metric, {}, issued_us});
  REQUIRE_FALSE(none.ok());
  CHECK(record::is_unknown_serial(none.problem()));
}
