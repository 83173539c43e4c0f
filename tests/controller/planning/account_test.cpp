#include <catch2/catch.hpp>
#include <cmath>

#include "sample_job.hpp"

using namespace shankwright;
using namespace shankwright::planning;
using namespace shankwright::planning::tests;

namespace {

Account account(const Job& job) {
  const Plan plan = plan_of(job, sample_parts());
  for (const auto& refusal : plan.refusals) UNSCOPED_INFO(name_of(refusal.code) << " " << refusal.found);
  REQUIRE(plan.assemblies.size() == 1);
  return plan.assemblies[0].account;
}

const Line& line_of(const Account& account, LineKind kind, int end = -1) {
  for (const Line& line : account.lines) {
    if (line.kind == kind && line.end == end) return line;
  }
  throw std::logic_error("no such line");
}

}  // namespace

TEST_CASE("The account of a shroud comes out as by hand") {
  const Account a = account(sample_job());
  CHECK(line_of(a, LineKind::pin_to_pin).value_mm == 5000);
  CHECK(line_of(a, LineKind::end_deduction, 0).value_mm == Approx(-96));
  CHECK(line_of(a, LineKind::growth, 0).value_mm == Approx(-12.4));
  // 5000 - 2 (96 + 12.4) = 4783.2 mm under 4.5 kN on 0.597 x 36 = 21.492 mm2 of 148 GPa: strain 0.0014147.
  CHECK(a.free_rope_under_tension_mm == Approx(4783.2));
  CHECK(a.elastic_strain == Approx(4500 / (21.492 * 148e3)));
  CHECK(line_of(a, LineKind::elastic_stretch).value_mm == Approx(-6.757).margin(0.001));
  CHECK(line_of(a, LineKind::constructional_stretch).value_mm == 0);
  CHECK(line_of(a, LineKind::insertion, 1).value_mm == Approx(64));
  // All the growth goes to the mouth, over rope that is in the piece already. At most half the first bite
  // (42.5 of 62 mm) goes the other way: a triangle with its peak at 0 has a root mean square of its bound /
  // sqrt 6.
  CHECK(line_of(a, LineKind::rope_grown_over, 1).value_mm == Approx(12.4));
  CHECK(line_of(a, LineKind::rope_grown_over, 1).uncertainty_mm ==
        Approx(2 * 12.4 * (42.5 / 62 / 2) / std::sqrt(6)));
  CHECK(a.cut_length_mm == Approx(4783.2 / (1 + a.elastic_strain) + 2 * 64 + 2 * 12.4));
}

TEST_CASE("The lines add up to the formula, each with its running total and a source") {
  Job job = sample_job();
  job.assemblies[0].prestretched = false;
  job.assemblies[0].ends[1] = {EndMaking::hand_fitted, "", {}, {}, {}, {}, "eye", 70, 38, 2, "maker's paper"};
  const Account a = account(job);
  double sum = 0;
  for (const Line& line : a.lines) {
    sum += line.value_mm;
    CHECK(line.running_mm == Approx(sum));
    CHECK_FALSE(line.source.empty());
    CHECK_FALSE(line.terms.empty());
  }
  CHECK(sum == Approx(a.cut_length_mm).epsilon(1e-13));
  CHECK_THAT(line_of(a, LineKind::end_deduction, 1).source, Catch::Contains("GIVEN BY THE JOB"));
  CHECK(formula_of(line_of(a, LineKind::end_deduction, 1)) == "as given by the job");
  CHECK(formula_of(line_of(a, LineKind::end_deduction, 0)) == "pin to bore end + bore depth");
  CHECK(line_of(a, LineKind::end_deduction, 1).value_mm == -70);
  CHECK(line_of(a, LineKind::end_deduction, 1).uncertainty_mm == 2);
  CHECK(line_of(a, LineKind::insertion, 1).value_mm == 38);
  CHECK_THROWS(line_of(a, LineKind::growth, 1));
}

TEST_CASE("Tension and bedding-in shorten the cut, a prestretched rope beds in no more") {
  Job job = sample_job();
  const double prestretched = account(job).cut_length_mm;
  job.assemblies[0].tension_kn = 0;
  const double slack = account(job).cut_length_mm;
  CHECK(slack - prestretched == Approx(6.757).margin(0.001));
  job.assemblies[0].prestretched = false;
  const Account fresh = account(job);
  // Without anything said, half of a rope maker's "under 1 %", known to as much either way.
  CHECK(fresh.constructional_stretch == Approx(0.005));
  CHECK(slack - fresh.cut_length_mm == Approx(4783.2 * (1 - 1 / 1.005)));
  CHECK(line_of(fresh, LineKind::constructional_stretch).uncertainty_mm ==
        Approx(2 / std::sqrt(3) * 0.005 * fresh.free_rope_at_rest_mm / 1.005));
  job.assemblies[0].constructional_stretch = recipe::Band{0.001, 0.003};
  CHECK(account(job).constructional_stretch == Approx(0.002));
}

TEST_CASE("A line's uncertainty is what its figures move the cut length by") {
  // By differences: each figure is set to the edge of its band, and the cut length moves by half width;
  // expanded for a value anywhere in the band (JCGM 100:2008, 4.3.7) it is 2/sqrt 3 of that.
  const Job job = sample_job();
  const double base = account(job).cut_length_mm;
  const auto moved = [&](auto change) {
    Parts parts = sample_parts();
    change(parts.recipes.at("swage"));
    const Plan plan = plan_of(job, parts);
    return std::abs(plan.assemblies.at(0).account.cut_length_mm - base);
  };
  const Account a = account(job);
  const auto both = [&](LineKind kind) {
    return line_of(a, kind, 0).uncertainty_mm + line_of(a, kind, 1).uncertainty_mm;
  };
  const double growth = moved([](recipe::JoinedRecipe& j) { j.recipe.growth_fraction = {0.24, 0.24}; });
  CHECK(both(LineKind::growth) == Approx(2 / std::sqrt(3) * growth).epsilon(1e-6));
  const double pin = moved([](recipe::JoinedRecipe& j) {
    j.terminal.pin_to_bore_end_mm = recipe::Band{32.2, 32.2};
  });
  CHECK(both(LineKind::end_deduction) == Approx(2 / std::sqrt(3) * pin).epsilon(1e-3));
  // The bore's depth goes off as deduction and on as insertion: hardly anything is left of it.
  CHECK(moved([](recipe::JoinedRecipe& j) { j.terminal.bore_depth_mm = {64.2, 64.2}; }) < 0.001);
  const double modulus = [&] {
    Parts parts = sample_parts();
    parts.ropes.at("strand").elastic_modulus_mpa = 130e3;  // EN 1993-1-11, value from memory
    return std::abs(plan_of(job, parts).assemblies.at(0).account.cut_length_mm - base);
  }();
  CHECK(line_of(a, LineKind::elastic_stretch).uncertainty_mm ==
        Approx(2 / std::sqrt(3) * modulus).epsilon(0.01));
}

TEST_CASE("Marking, pushing home and cutting count by what their tolerances let pass") {
  const Account a = account(sample_job());
  // Mark 0.5 mm and insertion 0.8 mm, either way and independent; the cutter 1 mm either way.
  CHECK(line_of(a, LineKind::insertion, 0).uncertainty_mm ==
        Approx(2 / std::sqrt(3) * std::sqrt(0.5 * 0.5 + 0.8 * 0.8)));
  CHECK(line_of(a, LineKind::cutting).uncertainty_mm == Approx(2 / std::sqrt(3) * 1));
  double squares = 0;
  for (const Line& line : a.lines) {
    if (line.common_cause.empty()) squares += line.uncertainty_mm * line.uncertainty_mm;
  }
  // Both ends are of one recipe: what they share counts double.
  const double growth = 2 * line_of(a, LineKind::growth, 0).uncertainty_mm;
  const double share = 2 * line_of(a, LineKind::rope_grown_over, 0).uncertainty_mm;
  CHECK(a.uncertainty_mm == Approx(std::sqrt(squares + growth * growth + share * share)));
}

TEST_CASE("Two ends of one recipe err together, two of different recipes apart") {
  Parts parts = sample_parts();
  recipe::JoinedRecipe other = sample_recipe();
  other.recipe.id = "other";
  parts.recipes.emplace("other", other);
  Job job = sample_job();
  const double together = plan_of(job, parts).assemblies.at(0).account.uncertainty_mm;
  job.assemblies[0].ends[1].recipe = "other";
  const double apart = plan_of(job, parts).assemblies.at(0).account.uncertainty_mm;
  CHECK(apart < 0.8 * together);
  // What is least known is the growth share: a shop that has measured it knows its lengths far better.
  job = sample_job();
  for (End& end : job.assemblies[0].ends) end.growth_share = GrowthShare{0.04, 0.05, 0.06};
  CHECK(plan_of(job, parts).assemblies.at(0).account.uncertainty_mm < 0.35 * together);
}
