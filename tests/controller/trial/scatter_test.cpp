#include "trial/scatter.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "bench_of_formulas.hpp"
#include "trial/statistics.hpp"

using namespace shankwright;
using namespace shankwright::trial;
using prediction::Scatter;

TEST_CASE("Quantiles of the normal scatter are those of the normal table") {
  const Scatter scatter{Scatter::Shape::normal, 10, 3};
  // Phi(1.94) = 0.9738, Phi(1) = 0.8413, Phi(-3) = 0.00135 (any table of the normal distribution); what lies
  // beyond three standard deviations is cut off, so 0.9973 are all there are.
  CHECK(value_at(scatter, (0.9738 - 0.00135) / 0.9973) == Approx(10 + 1.94).margin(0.002));
  CHECK(value_at(scatter, 1 - (0.8413 - 0.00135) / 0.9973) == Approx(10 - 1.00).margin(0.002));
  CHECK(value_at(scatter, 0.5) == Approx(10));
  CHECK(value_at(scatter, 1e-12) == Approx(7).margin(1e-6));
  CHECK(value_at({Scatter::Shape::uniform, 10, 3}, 0.25) == Approx(8.5));
  CHECK(value_at({Scatter::Shape::normal, 10, 0}, 0.9) == 10);
}

TEST_CASE("Drawn parts have the mean and the deviation that their scatter says, and never leave it") {
  const recipe::JoinedRecipe joined = tests::a_recipe();
  const Scatters scatters = scatters_of(joined, prediction::population_of(joined));
  constexpr std::size_t fittings = 20000;
  std::array<std::vector<double>, scatter_count> values;
  for (std::size_t i = 0; i < fittings; ++i) {
    const Drawn drawn = draw(scatters, 42, i);
    for (std::size_t s = 0; s < scatter_count; ++s) values[s].push_back(drawn.values[s]);
  }
  for (std::size_t s = 0; s < scatter_count; ++s) {
    INFO(name_of(s));
    const Moments m = moments(values[s]);
    const double half = scatters[s].half_width;
    // Normal cut off at three standard deviations: variance 1 - 6 phi(3) / (2 Phi(3) - 1) = 0.97334 of the
    // whole one (phi(3) = 0.0044318, Phi(3) = 0.9986501, tables). Uniform: half width over root 3.
    const double deviation =
        scatters[s].shape == Scatter::Shape::normal ? half / 3 * std::sqrt(0.97334) : half / std::sqrt(3.0);
    // Four standard errors: root n of the mean, root 2 n of the deviation.
    CHECK(std::abs(m.mean - scatters[s].centre) <= 4 * deviation / std::sqrt(20000.0) + 1e-12);
    CHECK(std::abs(m.deviation - deviation) <= 4 * deviation / std::sqrt(40000.0) + 1e-12);
    for (const double value : values[s])
      REQUIRE(std::abs(value - scatters[s].centre) <= half * (1 + 1e-12) + 1e-15);
  }
}

TEST_CASE("No two inputs of a fitting move together") {
  const recipe::JoinedRecipe joined = tests::a_recipe();
  const Scatters scatters = scatters_of(joined, prediction::population_of(joined));
  constexpr std::size_t fittings = 20000;
  std::array<std::array<double, scatter_count>, scatter_count> products{};
  for (std::size_t i = 0; i < fittings; ++i) {
    const Drawn drawn = draw(scatters, 43, i);
    for (std::size_t a = 0; a < scatter_count; ++a)
      for (std::size_t b = 0; b < a; ++b)
        products[a][b] += (drawn.units[a] - 0.5) * (drawn.units[b] - 0.5) * 12;
  }
  // A correlation of nothing has a standard error of 1 / root n = 0.0071; 66 pairs, so 4.5 of them.
  for (std::size_t a = 0; a < scatter_count; ++a)
    for (std::size_t b = 0; b < a; ++b) CHECK(std::abs(products[a][b] / fittings) < 0.032);
}

TEST_CASE("The gauge is the best the recipe allows") {
  recipe::JoinedRecipe joined = tests::a_recipe();  // caliper 0.03 mm, micrometer 0.004 mm
  CHECK(size_uncertainty_mm(joined) == Approx(0.004));
  std::erase_if(joined.measuring_gauges,
                [](const auto& gauge) { return gauge.kind == recipe::GaugeKind::micrometer; });
  CHECK(size_uncertainty_mm(joined) == Approx(0.03));
  joined.measuring_gauges.clear();
  CHECK(size_uncertainty_mm(joined) == 0);
}

TEST_CASE("Every input has a key, a name and a remedy of its own") {
  std::set<std::string_view> keys, names, remedies;
  for (std::size_t s = 0; s < scatter_count; ++s) {
    keys.insert(key_of(s));
    names.insert(name_of(s));
    remedies.insert(remedy_of(s));
  }
  CHECK(keys.size() == scatter_count);
  CHECK(names.size() == scatter_count);
  CHECK(remedies.size() == scatter_count);
  CHECK_FALSE(keys.contains(""));
}
