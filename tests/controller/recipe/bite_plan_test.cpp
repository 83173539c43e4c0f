#include "recipe/bite_plan.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using namespace shankwright::recipe;

namespace {

JoinedRecipe shank(double bore_depth_mm, double swage_length_mm, double die_length_mm) {
  JoinedRecipe joined;
  joined.terminal.bore_depth_mm = {bore_depth_mm - 0.2, bore_depth_mm};
  joined.terminal.swage_length_mm = swage_length_mm;
  joined.die_pair.length_mm = die_length_mm;
  Recipe& r = joined.recipe;
  r.bore_end_clearance_mm = 1.5;
  r.position_tolerance_mm = 0.8;
  r.least_edge_mm = 0.5;
  r.least_overlap_mm = 2;
  r.growth_fraction = {0.05, 0.18};
  return joined;
}

/// Where the mouth lies when the last bite comes, worked out bite by bite from the edges really used: each
/// bite turns what fresh shank lies under it into (1 + new growth) times its length. Written from the
/// requirement, not from the planner's formula.
double mouth_at_last_bite(const JoinedRecipe& joined, const std::vector<double>& edges,
                          double growth_so_far) {
  const double die = joined.die_pair.length_mm;
  const double new_growth =
      (1 + std::max(growth_so_far, joined.recipe.growth_fraction.most)) / (1 + growth_so_far) - 1;
  double mouth = joined.terminal.bore_depth_mm.most + joined.terminal.swage_length_mm * growth_so_far;
  double done_to = edges.front();
  for (std::size_t i = 0; i + 1 < edges.size(); ++i) {
    // After the bite its whole die length is finished shank, which was shorter by the growth before.
    const double fresh_after = std::max(0.0, std::min(edges[i] + die, mouth) - std::max(edges[i], done_to));
    mouth += fresh_after * new_growth / (1 + new_growth);
    done_to = edges[i] + die;
  }
  return mouth;
}

}  // namespace

TEST_CASE("A die longer than the swage length gives one bite at the bore-end clearance") {
  for (double die = 50.0; die < 120; die += 0.37) {
    const auto plan = bite_plan(shank(50, 48.2, die), 0);
    INFO("die length " << die);
    if (1.5 + die >= 50) {
      REQUIRE(plan.size() == 1);
      CHECK(plan[0].edge_mm == Approx(1.5));
      CHECK(plan[0].accepted_mm.least + die >= 50 - 1e-9);
    }
  }
}

TEST_CASE("A shank that has grown past the die gets a second bite") {
  CHECK(bite_plan(shank(50, 48.2, 52), 0).size() == 1);
  CHECK(bite_plan(shank(50, 48.2, 52), 0.10).size() == 2);
}

TEST_CASE("Any edges inside the accepted bands keep off solid material, overlap, and cover the mouth") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const auto draw = [&](double least, double most) {
    return std::uniform_real_distribution<>(least, most)(random);
  };
  int several = 0;
  for (int trial = 0; trial < 20000; ++trial) {
    const double swage = draw(10, 200);
    JoinedRecipe joined = shank(swage + draw(1, 4), swage, draw(14, 90));
    Recipe& r = joined.recipe;
    r.position_tolerance_mm = draw(0.05, 1.5);
    r.least_edge_mm = draw(0, 1);
    r.bore_end_clearance_mm = r.least_edge_mm + draw(0, 2);
    r.least_overlap_mm = draw(0, 5);
    r.growth_fraction.most = draw(0.02, 0.30);
    const double growth = trial % 2 == 0 ? 0.0 : draw(0, 0.25);
    const double die = joined.die_pair.length_mm;

    const auto plan = bite_plan(joined, growth);
    INFO("trial " << trial << " swage " << swage << " die " << die << " growth " << growth);
    REQUIRE(!plan.empty());
    CHECK(plan[0].edge_mm == Approx(r.bore_end_clearance_mm));
    several += plan.size() > 1 ? 1 : 0;

    // Corner cases (all least, all most) and random edges; each band narrowed by the edge before, as the
    // interlock does.
    for (int corner = 0; corner < 6; ++corner) {
      std::vector<double> edges;
      for (std::size_t i = 0; i < plan.size(); ++i) {
        const Band& band = plan[i].accepted_mm;
        const double most =
            edges.empty() ? band.most : std::min(band.most, edges.back() + die - r.least_overlap_mm);
        REQUIRE(band.least <= most + 1e-9);
        CHECK(band.holds(plan[i].edge_mm));
        const double share = corner == 0 ? 0.0 : corner == 1 ? 1.0 : corner == 2 ? double(i % 2) : draw(0, 1);
        edges.push_back(band.least + share * (most - band.least));
        CHECK(edges.back() >= r.least_edge_mm - 1e-9);
        if (i > 0) CHECK(edges[i - 1] + die - edges[i] >= r.least_overlap_mm - 1e-9);
        if (i > 0) CHECK(edges[i] > edges[i - 1] - 2 * r.position_tolerance_mm);
      }
      CHECK(edges.back() + die >= mouth_at_last_bite(joined, edges, growth) - 1e-6);
    }
  }
  CHECK(several > 5000);  // the loop is worth nothing if nearly every draw gave one bite
}

TEST_CASE("The pitch between bites is even and no plan has a bite too many") {
  for (double swage = 20; swage < 300; swage += 1.7) {
    for (double growth : {0.0, 0.1}) {
      const JoinedRecipe joined = shank(swage + 1.8, swage, 40);
      const auto plan = bite_plan(joined, growth);
      REQUIRE(!plan.empty());
      const double pitch_most = 40 - 2 - 2 * 0.8;
      for (std::size_t i = 2; i < plan.size(); ++i) {
        CHECK(plan[i].edge_mm - plan[i - 1].edge_mm == Approx(plan[1].edge_mm - plan[0].edge_mm));
      }
      if (plan.size() > 2) {
        // One bite fewer at the greatest pitch would not reach even the mouth as it lies before the pass.
        const double reach = 1.5 - 0.8 + (double(plan.size()) - 2) * pitch_most + 40;
        CHECK(reach < swage + 1.8 + swage * 0.18);
      }
    }
  }
}

TEST_CASE("No plan is offered where none can keep the promises") {
  JoinedRecipe joined = shank(50, 48.2, 40);
  joined.recipe.position_tolerance_mm = 19;  // 40 - 2 - 38 leaves nothing to step by
  CHECK(bite_plan(joined, 0).empty());
  joined = shank(50, 48.2, 0);
  CHECK(bite_plan(joined, 0).empty());
  joined = shank(5000, 4998, 4);
  CHECK(bite_plan(joined, 0).empty());
  joined = shank(50, 48.2, 40);
  CHECK(bite_plan(joined, std::nan("")).empty());
  joined.recipe.least_edge_mm = 2;  // beyond the planned first edge
  CHECK(bite_plan(joined, 0).empty());
}
