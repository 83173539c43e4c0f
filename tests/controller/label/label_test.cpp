#include "label/label.hpp"

#include <catch2/catch.hpp>
#include <random>

#include "label/data_matrix.hpp"
#include "label/layout.hpp"
#include "library/library.hpp"
#include "record/serial.hpp"
#include "support/tools.hpp"
#include "typeset/words.hpp"

// Labels read by programs that know nothing of ours: libdmtx (dmtxread), poppler, and a browser for SVG.
using namespace shankwright;
using quantity::UnitSystem;
using tests::run_tool;

namespace {

ports::FittingRow fitting(std::int64_t number, const std::string& stage = "released") {
  recipe::JoinedRecipe joined;
  joined.rope.construction = recipe::Construction::rope_7x19;
  joined.rope.nominal_diameter_mm = 4.76;
  joined.terminal.bore_diameter_mm = 5.16;
  ports::FittingRow row;
  row.serial = record::serial_of(number);
  row.job = "job-41";
  row.stage = stage;
  row.changed_utc_us = 1'932'732'000'000'000;  // 2031-03-31
  row.joined_recipe_json = library::to_json(joined);
  return row;
}

std::string decoded(const std::string& picture) {
  return run_tool("dmtxread -N 1 -m 5000 " + picture).out;
}

}  // namespace

TEST_CASE("the symbol on a PNG label is the bare serial, for long serials and small labels") {
  const tests::ScratchFolder folder;
  std::mt19937_64 random(7);
  struct Case {
    const char* size;
    std::int64_t most;  // longer serials want a larger label
  };
  for (const auto& [size, most] :
       {Case{"30mmx15mm", 999'999'999}, Case{"20mmx10mm", 999'999}, Case{"50mmx25mm", 999'999'999},
        Case{"1.2inx0.6in", 999'999'999}, Case{"60mmx12mm", 999'999'999}}) {
    const auto number = std::uniform_int_distribution<std::int64_t>(1, most)(random);
    INFO(size << ", seed 7, number " << number);
    const auto row = fitting(number);
    const auto png =
        label::to_png(label::label_of(row, UnitSystem::metric), label::parse_size(size).value()).value();
    CHECK(decoded(folder.put("label.png", png)) == record::bare(row.serial));
  }
}

TEST_CASE("a PDF label rasterised by poppler and an SVG label drawn by a browser decode to the same") {
  const tests::ScratchFolder folder;
  const auto row = fitting(123);
  const auto made = label::label_of(row, UnitSystem::metric);
  const auto pdf = folder.put("label.pdf", label::to_pdf(made, {}, 1'932'800'000'000'000).value());
  REQUIRE(
      run_tool("pdftoppm -r 400 -png -singlefile " + pdf + " " + (folder / "from_pdf").string()).exit_code ==
      0);
  CHECK(decoded((folder / "from_pdf.png").string()) == record::bare(row.serial));
  CHECK(tests::without_blanks(run_tool("pdftotext -raw " + pdf + " -").out) ==
        tests::without_blanks(row.serial + "rope 7x19 4.76 mm bore 5.16 mm job job-41 2031-03-31"));
  const auto svg = folder.put("label.svg", label::to_svg(made, {}).value());
  const auto picture = (folder / "from_svg.png").string();
  REQUIRE(
      run_tool(
          "chromium --headless --no-sandbox --disable-gpu --force-device-scale-factor=6 --window-size=140,80 "
          "--user-data-dir=" +
          (folder / "browser").string() + " --screenshot=" + picture + " file://" + svg + " 2>/dev/null")
          .exit_code == 0);
  CHECK(decoded(picture) == record::bare(row.serial));
}

TEST_CASE("the label tells people serial, rope, bore, job and day, in the units asked for") {
  const auto metric = label::label_of(fitting(123), UnitSystem::metric);
  CHECK(metric.serial == record::serial_of(123));
  CHECK(metric.lines ==
        std::vector<std::string>{"rope 7x19 4.76 mm", "bore 5.16 mm", "job job-41", "2031-03-31"});
  CHECK(metric.warning.empty());
  const auto inch = label::label_of(fitting(123), UnitSystem::inch);
  CHECK(inch.lines[0] == "rope 7x19 0.1874 in");  // 4.76 / 25.4, NIST SP 811 Appendix B.9
  CHECK(inch.lines[1] == "bore 0.2031 in");
}

TEST_CASE("a fitting that is not released carries its state, not a day") {
  for (const auto& [stage, words] :
       {std::pair{"hold", "ON HOLD"}, std::pair{"scrapped", "SCRAPPED"},
        std::pair{"accepted", "NOT RELEASED"}, std::pair{"gauge", "NOT RELEASED"}}) {
    const auto made = label::label_of(fitting(5, stage), UnitSystem::metric);
    CHECK(made.warning.find(words) == 0);
    CHECK(std::find(made.lines.begin(), made.lines.end(), "2031-03-31") == made.lines.end());
    CHECK(label::to_svg(made, {}).value().find(words) != std::string::npos);
  }
}

TEST_CASE("no line of a label leaves it, however long the job's name is") {
  const typeset::Typesetter typesetter;
  for (const auto& job :
       {std::string(300, 'W'), std::string("a\nb\x1b[2J\u202E"), std::string("<&\"'>"), std::string()})
    for (const auto* text : {"30mmx15mm", "20mmx10mm", "60mmx12mm", "100mmx100mm"}) {
      auto row = fitting(123, "hold");
      row.job = job;
      const auto size = label::parse_size(text).value();
      const auto made = label::label_of(row, UnitSystem::metric);
      const auto laid = label::lay_out(typesetter, made, size).value();
      INFO(text << " " << job);
      for (const auto& line : laid.lines) {
        CHECK(line.x >= 0);
        CHECK(line.x + line.width_mm <= size.width_mm);
        CHECK(line.top >= 0);
        CHECK(line.top + line.size_mm * 1.35 <= size.height_mm);
      }
      CHECK(laid.lines[0].text == row.serial);
      CHECK(laid.lines[1].text == made.warning);
      CHECK(label::to_svg(made, size).value().find('\x1b') == std::string::npos);
    }
}

TEST_CASE("a label too small to be read is refused, and so is a size without units") {
  const auto made = label::label_of(fitting(123), UnitSystem::metric);
  CHECK_FALSE(label::to_png(made, {9, 8}).ok());
  for (const auto* text :
       {"", "30x15", "30mm", "30mmx", "xx", "0mmx15mm", "-30mmx15mm", "1000mmx15mm", "30mmx15kN"})
    CHECK_FALSE(label::parse_size(text).ok());
  const auto inches = label::parse_size("1.5 in x 1/2 in").value();
  CHECK(inches.width_mm == Approx(38.1));
  CHECK(inches.height_mm == Approx(12.7));
}

TEST_CASE("a symbol is refused for what it could not carry, not cut") {
  CHECK_FALSE(label::data_matrix("").ok());
  CHECK_FALSE(label::data_matrix("caf\u00E9").ok());
  CHECK_FALSE(label::data_matrix(std::string(5000, 'A')).ok());
  // ISO/IEC 16022:2006, table 7: 12 codewords fit 16 by 16 modules.
  CHECK(label::data_matrix("SW000123T0").value().side <= 16);
}
