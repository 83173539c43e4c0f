#include "trial/statistics.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "trial/numbers.hpp"

using namespace shankwright;
using namespace shankwright::trial;

TEST_CASE("Exact limits of a share are those of the published tables") {
  struct Row {
    std::size_t hits, count;
    double confidence, least, most;
  };
  // 95 %: exact limits for a binomial proportion as printed in statistical tables (Documenta Geigy,
  // Scientific Tables, 7th ed., values from memory). 90 %: NIST/SEMATECH e-Handbook of Statistical
  // Methods, 7.2.4.1, 4 of 20 failing (value from memory).
  const Row row = GENERATE(Row{0, 10, 0.95, 0, 0.3085}, Row{1, 10, 0.95, 0.0025, 0.4450},
                           Row{5, 10, 0.95, 0.1871, 0.8129}, Row{10, 10, 0.95, 0.6915, 1},
                           Row{4, 20, 0.90, 0.071354, 0.401029});
  INFO(row.hits << " of " << row.count);
  const recipe::Band limits = exact_limits(row.hits, row.count, row.confidence);
  CHECK(limits.least == Approx(row.least).margin(5e-5));
  CHECK(limits.most == Approx(row.most).margin(5e-5));
}

TEST_CASE("Exact limits leave the tails they promise, whatever was seen") {
  const auto count = static_cast<std::size_t>(GENERATE(1, 7, 40, 300));
  for (std::size_t hits = 0; hits <= count; hits += std::max<std::size_t>(1, count / 7)) {
    const recipe::Band limits = exact_limits(hits, count);
    // Definition: at the upper limit, so few hits or fewer come with probability 0.025 (summed by hand here).
    const auto n = static_cast<double>(count);
    const auto at_most = [&](double share, std::size_t k) {
      double sum = 0;
      for (std::size_t i = 0; i <= k; ++i) {
        const auto x = static_cast<double>(i);
        sum += std::exp(std::lgamma(n + 1) - std::lgamma(x + 1) - std::lgamma(n - x + 1) +
                        x * std::log(share) + (n - x) * std::log1p(-share));
      }
      return sum;
    };
    INFO(hits << " of " << count);
    if (hits < count) CHECK(at_most(limits.most, hits) == Approx(0.025).epsilon(1e-6));
    if (hits > 0) CHECK(1 - at_most(limits.least, hits - 1) == Approx(0.025).epsilon(1e-6));
  }
  CHECK(exact_limits(0, 0).most == 1);
}

TEST_CASE("Cpk is the piston rings' of a published worked example") {
  // R package qcc, vignette docs/articles/qcc.html (piston rings, 25 groups of 5): mean 74.001176 (printed
  // 74.00118), standard deviation 0.009785039.
  constexpr double mean = 74.001176, deviation = 0.009785039;
  CHECK(cpk(mean, deviation, {73.95, 74.05}) == Approx(1.66).margin(0.005));
  CHECK(cpk(mean, deviation, {73.99, 74.01}) == Approx(0.301).margin(0.0005));
  CHECK(cpk(mean, deviation, {73.99, 74.1}) == Approx(0.381).margin(0.0005));
  // The same vignette's confidence limits, 125 pieces, 95 % (values from memory): 1.448 and 1.878.
  const recipe::Band limits = cpk_limits(cpk(mean, deviation, {73.95, 74.05}), 125);
  CHECK(limits.least == Approx(1.448).margin(0.0015));
  CHECK(limits.most == Approx(1.878).margin(0.0015));
}

TEST_CASE("A mean outside its limits has a Cpk below 0") {
  CHECK(cpk(10.5, 0.1, {9, 10}) == Approx(-0.5 / 0.3));
  CHECK(cpk_limits(0, 50).least == Approx(-1.96 / (3 * std::sqrt(50.0))).epsilon(1e-4));
}

TEST_CASE("Moments and quantiles of a handful of values are those computed by hand") {
  const std::vector<double> values{2, 4, 4, 4, 5, 5, 7, 9};  // mean 5, sum of squares 32
  CHECK(moments(values).mean == 5);
  CHECK(moments(values).deviation == Approx(std::sqrt(32.0 / 7)));
  const Quantiles quantiles({4, 1, 3, 2});
  CHECK(quantiles.at(0) == 1);
  CHECK(quantiles.at(1) == 4);
  CHECK(quantiles.at(0.5) == 2.5);
  CHECK(quantiles.at(0.25) == Approx(1.75));  // type 7
  CHECK(Quantiles({}).at(0.5) == 0);
}

namespace {

/// Shares of three even inputs for a function of them.
template <typename Function>
std::array<double, 3> shares_of(Function function, std::size_t count) {
  std::array<std::vector<double>, 3> units;
  std::vector<double> results;
  for (std::size_t i = 0; i < count; ++i) {
    std::array<double, 3> u{};
    for (std::uint32_t k = 0; k < 3; ++k) {
      u[k] = unit_number(99, i, k);
      units[k].push_back(u[k]);
    }
    results.push_back(function(u));
  }
  return {variance_share(units[0], results), variance_share(units[1], results),
          variance_share(units[2], results)};
}

}  // namespace

TEST_CASE("Shares of the variance are the Ishigami function's known ones") {
  // sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 over -pi to pi: first-order indices 0.3139, 0.4424, 0 (Saltelli et
  // al., Global Sensitivity Analysis, the Primer, 2008, values from memory).
  const auto ishigami = [](const std::array<double, 3>& u) {
    const auto x = [&](std::size_t k) { return std::numbers::pi * (2 * u[k] - 1); };
    return std::sin(x(0)) + 7 * std::pow(std::sin(x(1)), 2) + 0.1 * std::pow(x(2), 4) * std::sin(x(0));
  };
  const auto shares = shares_of(ishigami, 40000);
  CHECK(shares[0] == Approx(0.3139).margin(0.012));
  CHECK(shares[1] == Approx(0.4424).margin(0.012));
  CHECK(shares[2] == Approx(0).margin(0.005));
}

TEST_CASE("Shares of a sum are those of its parts, found by moving one input at a time") {
  // Variances of 3 u, u^2 and nothing: 9/12, 4/45, 0.
  const auto sum = [](const std::array<double, 3>& u) { return 3 * u[0] + u[1] * u[1]; };
  const double whole = 9.0 / 12 + 4.0 / 45;
  const auto shares = shares_of(sum, 40000);
  CHECK(shares[0] == Approx(9.0 / 12 / whole).margin(0.01));
  CHECK(shares[1] == Approx(4.0 / 45 / whole).margin(0.01));
  CHECK(shares[2] == Approx(0).margin(0.002));
}
