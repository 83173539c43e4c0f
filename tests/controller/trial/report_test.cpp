#include "trial/report_text.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <sstream>

#include "bench_of_formulas.hpp"
#include "trial/charts.hpp"

using namespace shankwright;
using namespace shankwright::trial;

TEST_CASE("The text fits a terminal of 100 columns and carries the caution") {
  Request over_size = tests::a_request();
  over_size.bench.joined.recipe.across_flats_mm = {7.5, 7.7};
  for (const Request& request :
       {tests::a_request(), tests::a_request({.closing_n_per_mm = 14000}), over_size}) {
    const std::string text = to_text(run(request));
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
      INFO(line);
      CHECK(line.size() <= 100);
    }
    CHECK_THAT(text, Catch::Contains("proven on no real part") && Catch::Contains("not a safety function"));
  }
}

TEST_CASE("The text says what a technician asked for") {
  Request request = tests::a_request();
  request.corner_n_per_mm = {6500, 6000};
  const std::string text = to_text(run(request));
  CHECK_THAT(text,
             Catch::Contains("recommended") && Catch::Contains("99.9 % of the fittings close") &&
                 Catch::Contains("die rating 400 kN") && Catch::Contains("worst part") &&
                 Catch::Contains(
                     "for growth, first: shank diameter: ask for shanks with a closer outside diameter"));
}

TEST_CASE("Where the dies close and fittings are rejected all the same, the report says what else is wrong") {
  Request request = tests::a_request();
  REQUIRE(will_do(run(request)));
  CHECK(why_rejected(run(request)) == "");

  // Dies and limits moved apart by a tenth: every shank comes out over size.
  request.bench.joined.recipe.across_flats_mm = {7.60, 7.80};
  const Report over = run(request);
  REQUIRE(over.recommended);
  CHECK_FALSE(will_do(over));
  const double off_mm = over.recommended->across_flats_at_mm[2] - 7.70;
  CHECK_THAT(to_text(over), Catch::Contains("force is not what is wrong") &&
                                Catch::Contains(fmt::format("a die pair {:.2f} mm narrower", off_mm)));
  const auto data = nlohmann::json::parse(to_json(over));
  CHECK(data["will_do"] == false);

  request = tests::a_request();
  request.bench.joined.recipe.growth_fraction = {0.3, 0.4};
  CHECK_THAT(why_rejected(run(request)), Catch::Contains("the recipe takes 30 to 40 %"));
}

TEST_CASE("The JSON holds rows, window, inputs and bands that programs can read") {
  const Report report = run(tests::a_request());
  const auto data = nlohmann::json::parse(to_json(report));
  CHECK(data["forces"].size() == report.rows.size());
  CHECK(data["window"]["recommended_kn"] == report.window.recommended_kn);
  CHECK(data["inputs"].size() == scatter_count);
  CHECK(data["inputs"][0]["input"] == "shank_diameter");
  CHECK(data["recommended"]["rejected"] == report.recommended->rejected);
  CHECK(data["draft_bands"]["envelope"].size() == 2);
  CHECK(data["seed"] == 20310501);
  CHECK(data["caution"].get<std::string>().find("no real part") != std::string::npos);
}

TEST_CASE("Every picture of a trial names its axes with their units") {
  Request request = tests::a_request();
  const auto charts = charts_of(run(request));
  REQUIRE(charts.size() == 4);
  const std::vector<std::pair<std::string, std::string>> wanted{
      {"across_flats", "across flats after release, widest pair, mm"},
      {"rejects", "target press force, kN"},
      {"force_by_gap", "press force, kN"},
      {"sensitivity", "share of variance, %"}};
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    CHECK(charts[i].first == wanted[i].first);
    CHECK_THAT(figures::to_svg(charts[i].second),
               Catch::Contains(wanted[i].second) && Catch::Contains("proven on no real part"));
  }
}

TEST_CASE("A trial that closes nothing can still be told and drawn") {
  Request request = tests::a_request({.closing_n_per_mm = 14000});
  request.forces_kn = {50, 60};
  request.bench.joined.die_pair.rated_force_kn = 60;
  request.bench.ceiling_kn = 60;
  const Report report = run(request);
  CHECK(report.window.empty);
  CHECK(report.rows.back().closed == 0);
  CHECK_FALSE(to_text(report).empty());
  CHECK_NOTHROW(nlohmann::json::parse(to_json(report)));
  for (const auto& [name, figure] : charts_of(report)) CHECK_FALSE(figures::to_png(figure).empty());
}
