#include <catch2/catch.hpp>

#include "papers/certificate.hpp"
#include "printed.hpp"
#include "record/seal_code.hpp"
#include "review/evidence.hpp"

// A certificate as strangers get it: read back by poppler and libdmtx, which know nothing of us.
using namespace shankwright;
using namespace shankwright::papers_test;
using papers::UnitSystem;

namespace {

std::string pdf_of(const papers::Certified& certified, UnitSystem units = UnitSystem::metric) {
  return papers::certificate_pdf(certified, {units, {}, issued_us});
}

void must_hold(const std::string& text, std::initializer_list<const char*> wanted) {
  for (const auto* one : wanted) {
    INFO("wanted: " << one);
    CHECK(text.find(tests::without_blanks(one)) != std::string::npos);
  }
}

}  // namespace

TEST_CASE("a certificate says who, from what, and every value against its limits, in metric") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.proof_load = true});
  const auto text = text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value()));
  must_hold(text,
            {serial.c_str(), "job-41", "Demo Operator", "demo-operator", "qualified until 2032-02-29",
             "press-1", "calibration due 2031-11-15", "rope-lot-7", "certificate RC-5520", "terminal-lot-2",
             "certificate TC-0091", "hexagon-4.8 revision 3", "serial D-1188", "12345 of 50000 strokes done",
             "inspection due 2031-09-30", "2031-03-31", "Accepted on its measurements."});
  must_hold(text, {"rope diameter",
                   "4.81, 4.80, 4.82 mm",
                   "4.76 to 5.00 mm",
                   "shank diameter",
                   "9.12 mm",
                   "9.07 to 9.17 mm",
                   "bore depth",
                   "52.10 mm",
                   "50.00 to 54.00 mm",
                   "52.20 mm",
                   "51.60 to 52.60 mm",
                   "52.00 mm",
                   "0.10 mm",
                   "-0.80 to 0.80 mm",
                   "90.2 deg",
                   "87.0 to 93.0 deg",
                   "go gauge",
                   "passes",
                   "no-go gauge",
                   "stops",
                   "7.97 to 7.99 mm (6 readings)",
                   "7.90 to 8.05 mm",
                   "14.0 %",
                   "10.0 to 19.0 %",
                   "0.16 mm",
                   "-0.50 to 0.50 mm",
                   "0.05 mm",
                   "at most 0.30 mm",
                   "sound",
                   "within",
                   "micrometer-1, due 2031-12-31"});
  must_hold(text,
            {"560.0 kN", "540.0 to 600.0 kN", "0.02 mm", "at most 0.05 mm", "302 ms", "at least 300 ms"});
  must_hold(text, {"proof load 9.1 kN", "at least 8.9 kN", "62.0 s", "at least 60.0 s", "0.04 mm",
                   "at most 0.10 mm"});
  must_hold(text, {"Gauges used", "caliper-1", "protractor-1", "load-cell-1", "2031-12-31"});
  CHECK(text.find("OUTSIDE") == std::string::npos);
}

// Factors: NIST SP 811 (2008), Appendix B.9: inch 25.4 mm, pound-force 4.448222 N. 9.12 mm = 0.35906 in,
// 7.97 mm = 0.31378 in, 560 kN = 125 893 lbf (560 000 / 4.448222 = 125 892.99), 9.1 kN = 2045.8 lbf.
TEST_CASE("the same certificate in inches and pounds-force has the values converted, limits too") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.proof_load = true});
  const auto text =
      text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value(), UnitSystem::inch));
  must_hold(text, {"0.3591 in", "0.3571 to 0.3610 in", "0.3138 to 0.3146 in (6 readings)",
                   "0.3110 to 0.3169 in", "125893 lbf", "121397 to 134885 lbf", "2046 lbf",
                   "at least 2001 lbf", "inches", "pounds-force", "7x19 0.1874 in"});
  CHECK(text.find("kN") == std::string::npos);
  CHECK(text.find("9.12mm") == std::string::npos);
}

TEST_CASE("cautions, page numbers and the code stand on every page") {
  Shop shop;
  for (int i = 0; i < 5; ++i) write_fitting(*shop.store, {});
  const auto certified = papers::certified_job(*shop.store, "job-41").value();
  const auto pages = pages_of(shop.folder, pdf_of(certified));
  REQUIRE(pages.size() > 2);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    INFO("page " << i + 1);
    CHECK(pages[i].find("page" + std::to_string(i + 1) + "of" + std::to_string(pages.size())) !=
          std::string::npos);
    CHECK(pages[i].find(record::short_code(certified.seal)) != std::string::npos);
    must_hold(pages[i], {"not a safety function", "competent person"});
  }
  const auto whole = text_of(shop.folder, pdf_of(certified));
  for (const auto& caution : review::cautions()) must_hold(whole, {caution.c_str()});
  must_hold(whole, {"shankwright verify --code CODE", "Name", "Date", "Signature"});
}

TEST_CASE("the symbol on the page is the full code of the newest seal over its fittings") {
  Shop shop;
  std::vector<std::string> serials;
  for (int i = 0; i < 3; ++i) serials.push_back(write_fitting(*shop.store, {}));
  const auto certified = papers::certified_job(*shop.store, "job-41").value();
  const auto pdf = pdf_of(certified);
  const auto newest = shop.store->seal_over(serials.back()).value();
  CHECK(symbols_of(shop.folder, pdf) == std::vector<std::string>{record::full_code(newest)});
  CHECK(text_of(shop.folder, pdf).find(record::full_code(newest)) != std::string::npos);
}

TEST_CASE("every font is embedded") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  CHECK(
      fonts_not_embedded(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value())).empty());
}

TEST_CASE("one, three and sixty fittings: all serials are there, tables go on under their heading") {
  for (const int count : {1, 3, 60}) {
    Shop shop;
    std::vector<std::string> serials;
    for (int i = 0; i < count; ++i) serials.push_back(write_fitting(*shop.store, {}));
    const auto pdf = pdf_of(papers::certified_job(*shop.store, "job-41").value());
    const auto pages = pages_of(shop.folder, pdf);
    std::string whole;
    for (const auto& page : pages) whole += page;
    INFO(count << " fittings");
    for (const auto& serial : serials) CHECK(whole.find("Fitting" + serial) != std::string::npos);
    CHECK(words_outside(shop.folder, pdf, 20).empty());
    CHECK(pages.size() >= static_cast<std::size_t>(count) / 2);
    if (count == 60) {
      CHECK(pages[0].find("Greatestpeakforce") != std::string::npos);
      CHECK(pages[1].find("Greatestpeakforce") != std::string::npos);
    }
  }
}

TEST_CASE("the same record and instant give the same bytes, another instant other ones") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  const auto certified = papers::certified_serial(*shop.store, serial).value();
  const auto again = papers::certified_serial(*shop.store, serial).value();
  CHECK(pdf_of(certified) == pdf_of(again));
  CHECK(pdf_of(certified) !=
        papers::certificate_pdf(certified, {UnitSystem::metric, {}, issued_us + 60'000'000}));
}

TEST_CASE("what is not released is refused in plain words, for a serial and for a job without any other") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.held_and_used_as_is = true, .released = false});
  const auto refused = papers::certified_serial(*shop.store, serial);
  REQUIRE_FALSE(refused.ok());
  CHECK(papers::is_refusal(refused.problem()));
  CHECK(refused.problem().text().find("held") != std::string::npos);
  CHECK(papers::is_refusal(papers::certified_job(*shop.store, "job-41").problem()));
  CHECK(papers::is_refusal(papers::certified_job(*shop.store, "no such job").problem()));
  CHECK_FALSE(papers::is_refusal(papers::certified_serial(*shop.store, "SW-000099-XX").problem()));
}

TEST_CASE("the rest of a job is named as not covered") {
  Shop shop;
  write_fitting(*shop.store, {});
  const auto held = write_fitting(*shop.store, {.held_and_used_as_is = true, .released = false});
  write_fitting(*shop.store, {});
  const auto certified = papers::certified_job(*shop.store, "job-41").value();
  CHECK(certified.fittings.size() == 2);
  must_hold(text_of(shop.folder, pdf_of(certified)),
            {("Not covered: 1 of this job is not released: " + held).c_str()});
}

TEST_CASE("a fitting without a seal over all of it is refused, and taken once there is one") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.sealed = false});
  const auto refused = papers::certified_serial(*shop.store, serial);
  REQUIRE_FALSE(refused.ok());
  CHECK(papers::is_refusal(refused.problem()));
  CHECK(refused.problem().text().find("not sealed") != std::string::npos);
  quarantine(*shop.store, "another-lot", false);  // the next seal, whatever it is for
  CHECK(papers::certified_serial(*shop.store, serial).ok());
}

TEST_CASE("a fitting accepted by a disposition says so, with the hold, the reason and the signature") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.held_and_used_as_is = true, .two_persons = true});
  const auto text = text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value()));
  must_hold(text, {"accepted as it is by a reviewer's disposition", "Held 2031-03-31", "Proposed",
                   "first-reviewer", "Disposed", "use as it is, by demo-reviewer, signed with PIN",
                   "Reason given: gauged again by hand, sound"});
  write_fitting(*shop.store, {});
  must_hold(text_of(shop.folder, pdf_of(papers::certified_job(*shop.store, "job-41").value())),
            {"BY DISPOSITION"});
}

TEST_CASE("a quarantine after the release stands on the certificate until it is lifted") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  const auto text = [&] {
    return text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value()));
  };
  CHECK(text().find("UNDERQUARANTINE") == std::string::npos);
  quarantine(*shop.store, "rope-lot-7", false);
  must_hold(text(), {"UNDER QUARANTINE SINCE", "rope lot rope-lot-7 put under quarantine",
                     "broken wires found in another job"});
  quarantine(*shop.store, "rope-lot-7", true);
  CHECK(text().find("UNDERQUARANTINE") == std::string::npos);
  must_hold(text(), {"freed from quarantine", "found sound"});
}

TEST_CASE("a proof load that nobody asked for, and one that is missing, are said to be so") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {});
  must_hold(text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value())),
            {"Not asked for by the recipe; none on record."});
}

TEST_CASE("after a re-press only the gauging that followed it is certified") {
  Shop shop;
  const auto serial = write_fitting(*shop.store, {.re_pressed = true});
  const auto text = text_of(shop.folder, pdf_of(papers::certified_serial(*shop.store, serial).value()));
  must_hold(text,
            {"Accepted on its measurements after pressing again", "7.97 to 7.99 mm (6 readings)", "3, 1"});
  CHECK(text.find("8.11") == std::string::npos);
}
