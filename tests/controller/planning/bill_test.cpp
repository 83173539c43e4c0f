#include <catch2/catch.hpp>

#include "sample_job.hpp"

using namespace shankwright;
using namespace shankwright::planning;
using namespace shankwright::planning::tests;

TEST_CASE("The bill counts every piece, cut, sample and spare once") {
  Job job = sample_job();
  job.rope_spare_fraction = 0.10;
  job.terminals_spare = 1;
  job.destructive_samples = Samples{2, 254};
  Assembly mixed = job.assemblies[0];
  mixed.mark = "B1";
  mixed.quantity = 3;
  mixed.ends[1] = {EndMaking::hand_fitted, "", {}, {}, {}, {}, "eye with jaws", 70, 38, 2, "maker's paper"};
  job.assemblies.push_back(mixed);
  const Plan plan = plan_of(job, sample_parts());
  REQUIRE(plan.refusals.empty());
  const Bill& bill = plan.bill;

  REQUIRE(bill.ropes.size() == 1);
  const RopeNeed& rope = bill.ropes[0];
  REQUIRE(rope.pieces.size() == 3);
  CHECK(rope.pieces[0].count == 2);
  CHECK(rope.pieces[1].count == 3);
  CHECK(rope.pieces[2].what_for == "sample of swage");
  CHECK(rope.pieces[2].count == 2);
  // Free length at rest, and in each shank the bore depth and what the mouth grows over.
  CHECK(rope.pieces[2].length_mm == Approx(254 + 2 * (64 + 12.4)));
  const double pieces = 2 * plan.assemblies[0].account.cut_length_mm +
                        3 * plan.assemblies[1].account.cut_length_mm + 2 * rope.pieces[2].length_mm;
  CHECK(rope.pieces_mm == Approx(pieces));
  CHECK(rope.cutting_loss_mm == Approx(7 * 5));
  CHECK(rope.spare_mm == Approx(0.1 * (pieces + 35)));
  CHECK(rope.total_mm == Approx(1.1 * (pieces + 35)));
  // W d^2 kg per 100 m with W 0.5: 0.18 kg/m.
  REQUIRE(rope.mass_kg);
  CHECK(*rope.mass_kg == Approx(0.18 * rope.total_mm / 1000));

  REQUIRE(bill.terminals.size() == 1);
  CHECK(bill.terminals[0].assemblies == 2 * 2 + 3);
  CHECK(bill.terminals[0].samples == 4);
  CHECK(bill.terminals[0].total == 7 + 4 + 1);
  REQUIRE(bill.other_ends.size() == 1);
  CHECK(bill.other_ends[0].count == 3);
  REQUIRE(bill.recipes.size() == 1);
  CHECK(bill.recipes[0].fittings == 11);
  REQUIRE(bill.recipes[0].bites_by_pass.size() == 2);
  CHECK(bill.recipes[0].strokes ==
        11 * (bill.recipes[0].bites_by_pass[0] + bill.recipes[0].bites_by_pass[1]));
  CHECK(bill.recipes[0].die_tag == 14);
}

TEST_CASE("A rope without a mass factor has no mass, and no samples are made unasked") {
  Parts parts = sample_parts();
  parts.ropes.at("strand").mass_factor.reset();
  const Plan plan = plan_of(sample_job(), parts);
  REQUIRE(plan.bill.ropes.size() == 1);
  CHECK_FALSE(plan.bill.ropes[0].mass_kg);
  CHECK(plan.bill.ropes[0].pieces.size() == 1);
  CHECK(plan.bill.terminals[0].samples == 0);
}

TEST_CASE("Specimens for pulling are those of a published rule") {
  // MIL-DTL-87218E (27 Sept 2012), 4.4.2: 2 for a lot of 40 or fewer, 3 for 41 to 110.
  CHECK(samples_usual(1) == 2);
  CHECK(samples_usual(40) == 2);
  CHECK(samples_usual(41) == 3);
  CHECK(samples_usual(110) == 3);
}
