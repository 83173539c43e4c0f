#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>

#include "diagnosis/envelope.hpp"
#include "faulty_fittings.hpp"

// Goal: a technician is told what a bite's trace most likely means, and is not sent looking where nothing is
// wrong. Method: the simulated press (its section model is not the controller's) makes good and faulty
// fittings from a printed seed. How often it is right over longer runs, and where it is not, stands in
// controller/diagnosis/README.md; what is not surely told there is not asked for here. One forecast takes
// some seconds and serves every case.

using namespace shankwright;
using namespace shankwright::tests;
using diagnosis::Hypothesis;

namespace {

constexpr std::uint64_t seed = 20261115;
constexpr int learned_fittings = 20;

struct Shop {
  library::Library library = library::load(std::string(SOURCE_DIR) + "/recipes");
  recipe::JoinedRecipe joined = library::join(library, "straight-shank-1-8-7x19").value();
  std::vector<double> dies = other_dies_mm(library, joined);
  diagnosis::Forecast forecast = diagnosis::forecast({joined, dies, false, 2}).value();
  diagnosis::Experience before = diagnosis::no_experience(joined), after = before;

  Shop() {
    std::cout << "seed " << seed << '\n';
    for (int i = 0; i < learned_fittings; ++i) diagnosis::learn(after, forecast, good_bites(1000 + i));
  }
  [[nodiscard]] std::vector<diagnosis::TracedBite> bites_of(const Wrong& wrong, std::uint64_t number) const {
    std::vector<diagnosis::TracedBite> out;
    for (const auto& bite : press_fitting(joined, wrong, seed + number))
      if (auto one = traced(bite, joined)) out.push_back(std::move(*one));
    return out;
  }
  [[nodiscard]] std::vector<diagnosis::TracedBite> good_bites(int number) const {
    return bites_of({}, static_cast<std::uint64_t>(number));
  }
};

const Shop& shop() {
  static const Shop one;
  return one;
}

bool names(const diagnosis::Diagnosis& told, Hypothesis truth) {
  return std::find(told.group.begin(), told.group.end(), truth) != told.group.end();
}

double sum_of(const diagnosis::Diagnosis& told) {
  double sum = 0;
  for (const double one : told.probability) sum += one;
  return sum;
}

}  // namespace

TEST_CASE("Good fittings raise no alarm, before any accepted part and after twenty", "[diagnosis]") {
  for (int i = 0; i < 25; ++i)
    for (const auto& bite : shop().good_bites(i)) {
      const auto before = diagnosis::diagnose(shop().forecast, shop().before, bite);
      const auto after = diagnosis::diagnose(shop().forecast, shop().after, bite);
      INFO("fitting " << i << " pass " << bite.place.pass << ": " << before.sentence << " / "
                      << after.sentence);
      CHECK(before.most_likely == Hypothesis::good);
      CHECK(after.most_likely == Hypothesis::good);
      CHECK(sum_of(before) == Approx(1));
      CHECK(after.rests_on_fittings == learned_fittings);
    }
}

TEST_CASE("Faults that count are named by the first bite of the first pass", "[diagnosis]") {
  const auto kinds = fault_kinds(shop().joined);
  for (const auto& kind : kinds) {
    // Not told before this press's own accepted bites, or not surely: README.md says how often.
    const bool sure = kind.truth != Hypothesis::good && kind.truth != Hypothesis::dry_dies &&
                      kind.truth != Hypothesis::weak_pump_or_air;
    if (!sure) continue;
    for (int i = 0; i < 3; ++i) {
      const Wrong wrong = wrong_of(kind, (i + 0.5) / 3, shop().joined, shop().dies);
      const auto bites = shop().bites_of(wrong, static_cast<std::uint64_t>(100 + i));
      REQUIRE_FALSE(bites.empty());
      for (const auto* experience : {&shop().before, &shop().after}) {
        const auto told = diagnosis::diagnose(shop().forecast, *experience, bites.front());
        INFO(kind.name << " " << i << ", " << experience->fittings << " fittings: " << told.sentence);
        CHECK(told.most_likely != Hypothesis::good);
        CHECK(names(told, kind.truth));
      }
    }
  }
}

TEST_CASE("Air in the oil shows once the press's own sound bites are known", "[diagnosis]") {
  Wrong wrong;
  wrong.press.air_fraction = 0.08;
  const auto bites = shop().bites_of(wrong, 300);
  const auto told = diagnosis::diagnose(shop().forecast, shop().after, bites.front());
  INFO(told.sentence);
  CHECK(told.most_likely == Hypothesis::weak_pump_or_air);
  CHECK(told.sentence.find("usual on this press") != std::string::npos);
}

TEST_CASE("The words say what a technician can act on", "[diagnosis]") {
  Wrong wrong;
  wrong.part.rope = bench::RopeChoice::none;
  const auto told = diagnosis::diagnose(shop().forecast, shop().before, shop().bites_of(wrong, 400).front());
  INFO(told.sentence);
  CHECK(told.sentence.find("below the expected") != std::string::npos);
  CHECK(told.sentence.find("kN/mm") != std::string::npos);
  CHECK(told.sentence.find("no rope in the bore") != std::string::npos);
}

TEST_CASE("What accepted parts teach narrows the model's error and never what parts scatter by",
          "[diagnosis]") {
  const auto early = diagnosis::envelope_of(shop().forecast, shop().before, {});
  const auto late = diagnosis::envelope_of(shop().forecast, shop().after, {});
  CHECK(early.fittings == 0);
  CHECK(late.fittings == learned_fittings);
  REQUIRE(early.by_pass.size() == late.by_pass.size());
  for (std::size_t pass = 0; pass < early.by_pass.size(); ++pass)
    for (std::size_t i = 0; i < early.by_pass[pass].size(); ++i) {
      const auto& wide = early.by_pass[pass][i];
      const auto& narrow = late.by_pass[pass][i];
      INFO("pass " << pass + 1 << " gap " << wide.gap_mm);
      CHECK(narrow.model_share < 0.6 * wide.model_share);
      CHECK(narrow.parts_share > 0.9 * wide.parts_share);
      // 99.9 % of a normal spread reach 3.29 deviations to either side.
      CHECK(narrow.most_kn - narrow.least_kn > 2 * 3.29 * narrow.parts_share * narrow.middle_kn);
    }
}

TEST_CASE("Good first bites lie inside the envelope, learned or not", "[diagnosis]") {
  const auto early = diagnosis::envelope_of(shop().forecast, shop().before, {});
  const auto late = diagnosis::envelope_of(shop().forecast, shop().after, {});
  for (int i = 50; i < 80; ++i)
    for (const auto& bite : shop().good_bites(i)) {
      if (bite.place.fresh_mm < bite.place.die_length_mm - 0.01)
        continue;  // the envelope is for a whole die length
      for (const auto* envelope : {&early, &late})
        for (const auto& point : envelope->by_pass[static_cast<std::size_t>(bite.place.pass) - 1]) {
          const auto force = bite.reading.force_at_kn(point.gap_mm);
          INFO("fitting " << i << " pass " << bite.place.pass << " gap " << point.gap_mm << ", "
                          << envelope->fittings << " fittings");
          REQUIRE(force);
          CHECK(*force >= point.least_kn);
          CHECK(*force <= point.most_kn);
        }
    }
}

TEST_CASE("A trace that holds no bite is refused with what is missing", "[diagnosis]") {
  CHECK_FALSE(diagnosis::read_trace({}, 21000, 200).ok());
  std::vector<ports::Sample> still(100, {0, 1.5, 12.0});
  CHECK_FALSE(diagnosis::read_trace(still, 21000, 200).ok());
}

TEST_CASE("An accepted fitting pressed in worn dies teaches nothing", "[diagnosis]") {
  Wrong worn;
  worn.across_flats_mm = shop().joined.die_pair.across_flats_mm + 0.15;
  diagnosis::Experience experience = shop().after;
  diagnosis::learn(experience, shop().forecast, shop().bites_of(worn, 500));
  CHECK(experience.fittings == learned_fittings);
  CHECK(experience.left_out == shop().after.left_out + 1);
}
