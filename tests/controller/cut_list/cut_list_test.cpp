#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "cut_list/cut_list.hpp"
#include "cut_list/length_text.hpp"
#include "library/job.hpp"

using namespace shankwright;
using namespace shankwright::cut_list;

namespace {

const library::Library& shipped() {
  static const library::Library lib = library::load(SOURCE_DIR "/recipes");
  return lib;
}

Document planned(const std::string& job) {
  library::JobResult result =
      library::load_job(SOURCE_DIR "/simulators/demo_data/jobs/" + job + ".yaml", shipped());
  for (const Problem& fault : result.faults) UNSCOPED_INFO(fault.text());
  REQUIRE(result.faults.empty());
  Document document;
  document.file = job + ".yaml";
  document.job = result.job;
  document.plan = planning::plan_of(document.job, library::parts_of(shipped()));
  document.place_of = [places = result.places](const std::string& path) {
    const library::Place place = library::place_in_job(places, path);
    return FilePlace{place.line, place.column};
  };
  return document;
}

std::vector<std::vector<std::string>> rows_of(const std::string& csv) {
  std::vector<std::vector<std::string>> rows{{""}};
  bool quoted = false;
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const char c = csv[i];
    if (c == '"' && quoted && csv[i + 1] == '"') {
      rows.back().back() += csv[++i];
    } else if (c == '"') {
      quoted = !quoted;
    } else if (!quoted && c == ',') {
      rows.back().emplace_back();
    } else if (!quoted && c == '\r') {
      rows.push_back({""});
      ++i;
    } else {
      rows.back().back() += c;
    }
  }
  rows.pop_back();
  return rows;
}

}  // namespace

TEST_CASE("Every demo job is planned without a refusal") {
  int seen = 0;
  for (const auto& file : std::filesystem::directory_iterator(SOURCE_DIR "/simulators/demo_data/jobs")) {
    const Document document = planned(file.path().stem().string());
    INFO(file.path());
    for (const auto& refusal : document.plan.refusals) UNSCOPED_INFO(refusal.path << " " << refusal.found);
    CHECK(document.plan.refusals.empty());
    CHECK_FALSE(document.plan.assemblies.empty());
    CHECK_THAT(document.job.source, Catch::Contains("demo data"));
    ++seen;
  }
  CHECK(seen >= 3);
}

TEST_CASE("Text, CSV and JSON give the same lengths, in the unit asked for") {
  const Document document = planned("control-cable-1-8");
  const auto data = nlohmann::json::parse(json(document));
  REQUIRE(data["assemblies"].size() == 2);
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::in}) {
    const auto rows = rows_of(csv(document, Table::cuts, unit));
    REQUIRE(rows.size() == 3);
    CHECK(rows[0][8] == (unit == LengthUnit::mm ? "cut_length_mm" : "cut_length_in"));
    const std::string printed = text(document, unit);
    for (std::size_t i = 0; i < 2; ++i) {
      const double cut_mm = data["assemblies"][i]["cut_length_mm"];
      const double factor = unit == LengthUnit::mm ? 1 : 25.4;
      CHECK(std::stod(rows[i + 1][8]) ==
            Approx(cut_mm / factor).margin(unit == LengthUnit::mm ? 0.05001 : 0.00051));
      CHECK_THAT(printed, Catch::Contains(rows[i + 1][8]));
    }
  }
  // What was asked for in inches is printed in inches as it was asked for.
  CHECK(rows_of(csv(document, Table::cuts, LengthUnit::in))[1][5] == "142.500");
}

TEST_CASE("The account as CSV adds up line by line, and shows both sources of the stretch") {
  const Document document = planned("shrouds-5mm");
  const auto rows = rows_of(csv(document, Table::account, LengthUnit::mm));
  double total = 0;
  std::set<std::string> lines;
  for (std::size_t i = 1; i < rows.size() && rows[i][0] == "CAP"; ++i) {
    REQUIRE(rows[i].size() == 10);
    total += std::stod(rows[i][3]);
    CHECK(total == Approx(std::stod(rows[i][5])).margin(0.06 * static_cast<double>(i)));
    lines.insert(rows[i][1]);
    if (rows[i][1] == "elastic_stretch") {
      CHECK_THAT(rows[i][7], Catch::Contains("148.0 GPa") && Catch::Contains("130.0 GPa"));
      CHECK_THAT(rows[i][9], Catch::Contains("EN 1993-1-11, value from memory"));
    }
  }
  CHECK(lines == std::set<std::string>{"pin_to_pin", "end_deduction", "growth", "elastic_stretch",
                                       "constructional_stretch", "insertion", "rope_grown_over", "cutting"});
}

TEST_CASE("The bill as CSV names ropes, terminals, dies and gauges, and ends the press does not make") {
  const auto rows = rows_of(csv(planned("mixed-ends"), Table::bill, LengthUnit::mm));
  std::set<std::string> kinds;
  for (const auto& row : rows) kinds.insert(row[0]);
  for (const char* kind :
       {"piece", "rope", "terminal", "hand_fitted", "made_elsewhere", "recipe", "die_pair", "gauge"})
    CHECK(kinds.contains(kind));
}

TEST_CASE("A name that a spreadsheet would run as a formula is kept from it") {
  Document document = planned("mixed-ends");
  document.plan.assemblies[0].assembly.mark = "=1+2";
  document.plan.assemblies[0].assembly.ends[1].what = "eye, \"jaws\"";
  const auto rows = rows_of(csv(document, Table::cuts, LengthUnit::mm));
  CHECK(rows[1][0] == "'=1+2");
  CHECK(rows[1][4] == "eye, \"jaws\" (hand-fitted)");
}

TEST_CASE(
    "The sheet stands alone, carries the cautions and a box for each piece, and escapes what it is told") {
  Document document = planned("mixed-ends");
  document.job.title = "<script>alert(1)</script> & \"stays\"";
  const std::string page = sheet(document, LengthUnit::mm);
  CHECK(page.find("<script") == std::string::npos);
  CHECK_THAT(page, Catch::Contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;stays&quot;"));
  for (const char* outside : {"http:", "https:", "src=", "@import", "url("})
    CHECK(page.find(outside) == std::string::npos);
  for (const std::string& caution : standing_cautions())
    CHECK_THAT(page, Catch::Contains(caution.substr(0, 20)));
  for (const char* words : {"1 of 3 cut, length measured", "3 of 3 cut, length measured",
                            "STAY cut, length measured", "given by the job", "size: A4"})
    CHECK_THAT(page, Catch::Contains(words));
  CHECK(page.find("4 of 3") == std::string::npos);
  for (const auto& assembly : document.plan.assemblies)
    CHECK_THAT(page, Catch::Contains(length_with_unit(assembly.account.cut_length_mm, LengthUnit::mm)));
}

TEST_CASE("A refused job shows where and why, and no length at all") {
  Document document = planned("shrouds-5mm");
  document.job.assemblies[1].rope = "rope-5-32-7x19";
  document.plan = planning::plan_of(document.job, library::parts_of(shipped()));
  REQUIRE_FALSE(document.plan.refusals.empty());
  const std::string printed = text(document, LengthUnit::mm);
  CHECK_THAT(printed, Catch::Contains("shrouds-5mm.yaml:27:11: rope_not_the_recipes: found rope-5-32-7x19"));
  CHECK_THAT(printed, Catch::Contains("Nothing is to be cut"));
  CHECK(printed.find("CUT LENGTH") == std::string::npos);
  const auto data = nlohmann::json::parse(json(document));
  CHECK(data["assemblies"].empty());
  CHECK(data["bill"].is_null());
  CHECK(data["refusals"][0]["code"] == "rope_not_the_recipes");
  CHECK(data["refusals"][0]["line"] == 27);
}
