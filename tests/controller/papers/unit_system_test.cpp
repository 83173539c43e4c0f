#include "quantity/unit_system.hpp"

#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <sstream>

using namespace shankwright::quantity;

namespace {

// tests/reference/units_sp811.csv: NIST SP 811 (2008), Appendix B.9. name -> printed factor, to SI.
std::map<std::string, double> sp811() {
  std::ifstream in(std::string(SOURCE_DIR) + "/tests/reference/units_sp811.csv");
  std::map<std::string, double> out;
  for (std::string line; std::getline(in, line);) {
    std::istringstream fields(line);
    std::string unit, to, factor;
    std::getline(fields, unit, ',');
    std::getline(fields, to, ',');
    std::getline(fields, factor, ',');
    if (!factor.empty() && factor.find("E") != std::string::npos)
      out[unit] = std::strtod(factor.c_str(), nullptr);
  }
  return out;
}

}  // namespace

TEST_CASE("papers convert by the factors of NIST SP 811") {
  const auto factor = sp811();
  REQUIRE(factor.count("inch") == 1);
  REQUIRE(factor.count("pound-force (lbf)") == 1);
  CHECK(length_in(1000, UnitSystem::inch) == Approx(1 / factor.at("inch")).epsilon(1e-7));
  CHECK(force_in(1, UnitSystem::inch) == Approx(1000 / factor.at("pound-force (lbf)")).epsilon(1e-6));
  // 100 bar = 1.0E+07 Pa / 6.894757E+03 Pa = 1450.377 psi
  CHECK(1e7 / factor.at("psi") == Approx(1450.377).epsilon(1e-6));
  CHECK(pressure_text(100, UnitSystem::inch) == "1450 psi");
}

TEST_CASE("papers print the unit with every quantity and decimals by its kind") {
  CHECK(length_text(7.95, UnitSystem::metric) == "7.95 mm");
  CHECK(length_text(6.187, UnitSystem::metric) == "6.187 mm");
  CHECK(length_text(-0.0001, UnitSystem::metric) == "0.00 mm");
  CHECK(length_text(25.4, UnitSystem::inch) == "1.0000 in");
  CHECK(force_text(431.55, UnitSystem::metric) == "431.55 kN");
  CHECK(force_text(560, UnitSystem::metric) == "560.0 kN");
  CHECK(force_text(4.4482216152605, UnitSystem::inch) == "1000 lbf");
  CHECK(pressure_text(205.5, UnitSystem::metric) == "205.5 bar");
}
