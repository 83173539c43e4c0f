#include "quantity/quantity.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <random>
#include <sstream>

using namespace shankwright;
using namespace shankwright::quantity;

namespace {

using Parser = Result<double> (*)(std::string_view);

struct Kind {
  std::string name;
  Parser parse;
  std::vector<std::string> units;
};

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"length", parse_length_mm, {"mm", "cm", "m", "um", "in", "mil"}},
      {"force", parse_force_kn, {"kN", "N", "MN", "kgf", "tonnef", "lbf", "kip", "tonf"}},
      {"pressure", parse_pressure_bar, {"bar", "Pa", "kPa", "MPa", "psi"}},
      {"angle", parse_angle_deg, {"deg", "rad"}},
      {"duration", parse_duration_ms, {"ms", "s", "min", "h"}},
      {"temperature", parse_temperature_c, {"degC", "degF"}},
      {"area", parse_area_mm2, {"mm2", "cm2", "in2"}},
      {"fraction", parse_fraction, {"%"}},
  };
  return all;
}

std::string shortest(double value) {
  std::ostringstream out;
  out.precision(17);
  out << value;
  return out.str();
}

std::vector<std::string> cells(const std::string& line) {
  std::vector<std::string> out;
  std::string cell;
  std::istringstream in(line);
  while (std::getline(in, cell, ',')) out.push_back(cell);
  return out;
}

}  // namespace

TEST_CASE("Unit factors are those of NIST SP 811 Appendix B.9 and of the exact definitions") {
  // tests/reference/units_sp811.csv: columns unit, to (SI), SP 811 factor, exact value.
  struct Row {
    std::string prefix, unit;
    Parser parse;
    double inside_per_si;  // 1 SI unit in our inside unit
  };
  const std::vector<Row> rows{
      {"kilogram-force", "kgf", parse_force_kn, 1e-3},
      {"pound-force", "lbf", parse_force_kn, 1e-3},
      {"kip", "kip", parse_force_kn, 1e-3},
      {"ton-force (2000 lbf)", "tonf", parse_force_kn, 1e-3},
      {"tonne-force", "tonnef", parse_force_kn, 1e-3},
      {"bar", "bar", parse_pressure_bar, 1e-5},
      {"psi", "psi", parse_pressure_bar, 1e-5},
      {"psi", "psi", parse_stress_mpa, 1e-6},
      {"inch", "in", parse_length_mm, 1e3},
      {"mil", "mil", parse_length_mm, 1e3},
  };
  std::ifstream file(SOURCE_DIR "/tests/reference/units_sp811.csv");
  REQUIRE(file.good());
  std::vector<std::vector<std::string>> table;
  for (std::string line; std::getline(file, line);) table.push_back(cells(line));
  for (const Row& row : rows) {
    INFO(row.unit);
    bool seen = false;
    for (const auto& line : table) {
      if (line.size() < 4 || line[0].rfind(row.prefix, 0) != 0) continue;
      seen = true;
      const auto parsed = row.parse("1 " + row.unit);
      REQUIRE(parsed.ok());
      CHECK(parsed.value() == Approx(std::stod(line[3]) * row.inside_per_si).epsilon(1e-12));
      if (!line[2].empty())
        CHECK(parsed.value() == Approx(std::stod(line[2]) * row.inside_per_si).epsilon(5e-7));
    }
    CHECK(seen);
  }
}

TEST_CASE("A quantity reads the same with and without the space, with a sign, and in spaces") {
  for (const char* text :
       {"7.95 mm", "7.95mm", " 7.95  mm ", "+7.95 mm", "0.795 cm", "7950 um", "0.00795 m", "795e-2 mm"}) {
    INFO(text);
    REQUIRE(parse_length_mm(text).ok());
    CHECK(parse_length_mm(text).value() == Approx(7.95).epsilon(1e-14));
  }
  CHECK(parse_length_mm("-0.3 mm").value() == -0.3);
  CHECK(parse_length_mm("-1 1/8 in").value() == Approx(-28.575));
}

TEST_CASE("Fractions of an inch read as people write them") {
  CHECK(parse_length_mm("5/16 in").value() == Approx(7.9375).epsilon(1e-14));
  CHECK(parse_length_mm("1 1/8 in").value() == Approx(28.575).epsilon(1e-14));
  CHECK(parse_length_mm("3/16in").value() == Approx(4.7625).epsilon(1e-14));
}

TEST_CASE("0.313 in and 7.95 mm are the same size within the rounding of either") {
  const double inch = parse_length_mm("0.313 in").value();
  const double metric = parse_length_mm("7.95 mm").value();
  CHECK(std::abs(inch - metric) <= 0.0005 * 25.4 + 0.005);
  CHECK(print(inch, "mm", 2) == "7.95 mm");
  CHECK(print(metric / 25.4, "in", 3) == "0.313 in");
}

TEST_CASE("150 metric tonnes-force are 1471 kN") {
  CHECK(parse_force_kn("150 tonnef").value() == Approx(1470.9975).epsilon(1e-12));
}

TEST_CASE("A modulus reads in gigapascals, a pressure does not") {
  CHECK(parse_stress_mpa("102 GPa").value() == 102e3);
  CHECK(parse_stress_mpa("28e6 psi").value() == Approx(193053.2).epsilon(1e-6));  // 6894.757 Pa, NIST SP 811
  CHECK_FALSE(parse_pressure_bar("102 GPa").ok());
}

TEST_CASE("Temperatures carry their offset") {
  CHECK(parse_temperature_c("212 degF").value() == Approx(100).epsilon(1e-12));
  CHECK(parse_temperature_c("32 degF").value() == Approx(0).margin(1e-12));
  CHECK(parse_temperature_c("-40 degF").value() == Approx(-40).epsilon(1e-12));
  CHECK(parse_temperature_c("45 degC").value() == 45);
}

TEST_CASE("What is no quantity of the dimension is refused with what is taken instead") {
  struct Row {
    Parser parse;
    std::string text, expected_contains;
  };
  const std::vector<Row> rows{
      {parse_length_mm, "4.77", "a length with its unit, for example \"7.95 mm\""},
      {parse_length_mm, "", "a length in mm"},
      {parse_length_mm, "mm", "a length in mm"},
      {parse_length_mm, "7,95 mm", "decimal point"},
      {parse_force_kn, "1,000 lbf", "decimal point"},
      {parse_length_mm, "0.313\"", "\"in\" in place of the inch mark"},
      {parse_length_mm, "0.313''", "\"in\" in place of the inch mark"},
      {parse_length_mm, "520 kN", "\"kN\" belongs to a force"},
      {parse_force_kn, "350 bar", "\"bar\" belongs to a pressure"},
      {parse_length_mm, "7.95 MM", "mm, cm, m, um, in, mil"},
      {parse_length_mm, "7.95 mm x", "a length in"},
      {parse_length_mm, "7.95 mm 3", "a length in"},
      {parse_length_mm, "inf mm", "a length in"},
      {parse_length_mm, "nan mm", "a length in"},
      {parse_length_mm, "-nan mm", "a length in"},
      {parse_length_mm, "1e999 mm", "a length in"},
      {parse_length_mm, "1e307 m", "a length in"},
      {parse_length_mm, "0x10 mm", "a length in"},
      {parse_length_mm, "1/0 in", "a length in"},
      {parse_length_mm, "1/2 mm", "fractions go with \"in\" only"},
      {parse_length_mm, "1 2 in", "a length in"},
      {parse_length_mm, "--1 mm", "a length in"},
      {parse_length_mm, "1_000 mm", "a length in"},
      {parse_fraction, "0.12", "a percentage with its unit"},
      {parse_angle_deg, "90 \xC2\xB0", "an angle in deg, rad"},
      {parse_duration_ms, "2 sec", "a duration in ms, s, min, h"},
  };
  for (const Row& row : rows) {
    INFO(row.text);
    const auto result = row.parse(row.text);
    REQUIRE_FALSE(result.ok());
    CHECK(result.problem().expected.find(row.expected_contains) != std::string::npos);
    CHECK(result.problem().found == (row.text.empty() ? "nothing" : row.text));
    CHECK(result.problem().place.empty());
  }
}

TEST_CASE("A unit is taken by its own dimension and by no other") {
  for (const Kind& kind : kinds()) {
    for (const Kind& other : kinds()) {
      for (const std::string& unit : other.units) {
        INFO(kind.name << " from " << unit);
        CHECK(kind.parse("3 " + unit).ok() == (kind.name == other.name));
      }
    }
  }
}

TEST_CASE("A printed quantity reads back to the same number in every unit") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (const Kind& kind : kinds()) {
    const std::string& inside = kind.units.front();
    for (int i = 0; i < 2000; ++i) {
      const double value = std::uniform_real_distribution<>(-5000, 5000)(random);
      const double scale = inside == "%" ? 0.01 : 1;
      INFO(kind.name << " " << shortest(value));
      CHECK(kind.parse(shortest(value) + " " + inside).value() == Approx(value * scale).epsilon(1e-15));
      const auto rounded = kind.parse(print(value, inside, 3));
      REQUIRE(rounded.ok());
      CHECK(std::abs(rounded.value() - value * scale) <= 0.000501 * scale);
      for (const std::string& unit : kind.units) {
        const double one = kind.parse("1 " + unit).value();
        const double zero = kind.parse("0 " + unit).value();
        // Linear: what n of a unit are follows from what 0 and 1 are.
        CHECK(kind.parse(shortest(value) + " " + unit).value() ==
              Approx(zero + value * (one - zero)).margin(1e-9));
      }
    }
  }
}

TEST_CASE("Printing keeps the decimals asked for and never shows a negative nothing") {
  CHECK(print(7.9, "mm", 2) == "7.90 mm");
  CHECK(print(-0.001, "mm", 2) == "0.00 mm");
  CHECK(print(-0.006, "mm", 2) == "-0.01 mm");
  CHECK(print(12, "", 0) == "12");
  CHECK(print(1471, "kN", 0) == "1471 kN");
}

TEST_CASE("No text whatever makes a parser fail in any other way than a problem") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const std::string alphabet("0123456789./-+eE ,\"mkNinbar%\0\xff\xc3\xb0", 31);
  for (int i = 0; i < 50000; ++i) {
    std::string text;
    const auto length = random() % 14;
    for (unsigned n = 0; n < length; ++n) text += alphabet[random() % alphabet.size()];
    for (const Kind& kind : kinds()) {
      const auto result = kind.parse(text);
      if (result.ok()) CHECK(std::isfinite(result.value()));
    }
  }
}
