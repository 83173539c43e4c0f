#include <catch2/catch.hpp>

#include "shop_floor.hpp"
#include "station/state_json.hpp"

// Goal: a proof load counts where the recipe asks for one, and a rope that slipped is never forgotten.
using namespace shankwright;
using namespace shankwright::procedure;
using ports::Acceptance;
using tests::ShopFloor;

namespace {

struct ProofShop : ShopFloor {
  ProofShop() {
    // 60 percent of a breaking force of 20 kN, held three minutes: FAA AC 43.13-1B, paragraphs 7-146 to 7-148
    // (figures as the shared reference has them; the clause's number from memory).
    library.recipes.at("recipe").proof = recipe::ProofTest{12, 180, 0.5};
    if (auto opened = open(); !opened) throw std::runtime_error(opened.problem().text());
  }
  void up_to_accepted() {
    up_to_position();
    both_passes();
    gauge_well();
    act(Judge{});
  }
  [[nodiscard]] Code refusal(const ports::ActResult& result) const {
    return result.findings.empty() ? Code::none : result.findings.front().code;
  }
};

}  // namespace

TEST_CASE("Where a proof load is asked for, nothing is released without one that meets it") {
  ProofShop floor;
  floor.up_to_accepted();
  REQUIRE(floor.stage() == Stage::accepted);
  CHECK(floor.refusal(floor.act(Release{})) == Code::proof_load_missing);
  CHECK(floor.refusal(floor.pull(11.9, 180, 0)) == Code::proof_load_low);
  CHECK(floor.refusal(floor.pull(12, 170, 0)) == Code::proof_load_short);
  CHECK(floor.stage() == Stage::accepted);  // nothing is wrong with the terminal: pull again
  CHECK(floor.refusal(floor.act(Release{})) == Code::proof_load_missing);
  REQUIRE(floor.pull(12.1, 185, 0.1).acceptance == Acceptance::taken);
  CHECK(floor.act(Release{}).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::released);
}

TEST_CASE("A rope that slips in the proof load is rejected on the spot") {
  ProofShop floor;
  floor.up_to_accepted();
  const auto pulled = floor.pull(12, 180, 0.6);
  CHECK(pulled.acceptance == Acceptance::taken);
  CHECK(floor.refusal(pulled) == Code::proof_load_slipped);
  CHECK(floor.stage() == Stage::scrapped);
}

TEST_CASE("A proof load is read with a load cell that can be trusted") {
  ProofShop floor;
  floor.up_to_accepted();
  CHECK(floor.refusal(floor.act(ProofLoad{12, 180, 0, {}}, "caliper")) == Code::gauge_wrong_kind);
  CHECK(floor.refusal(floor.act(ProofLoad{12, 180, 0, {}}, "")) == Code::gauge_unknown);
  (void)floor.station->quarantine({ports::Item::gauge, "load-cell", "dropped", "tec"});
  CHECK(floor.refusal(floor.pull(12, 180, 0)) == Code::gauge_quarantined);
}

TEST_CASE("An accepted fitting leaves the press to its other end while it waits for the pull") {
  ProofShop floor;
  floor.up_to_accepted();
  const std::string first = floor.serial;
  REQUIRE(floor.act(PutAside{}).acceptance == Acceptance::taken);
  floor.up_to_accepted();
  CHECK(floor.stage() == Stage::accepted);
  floor.pull(12, 180, 0);
  floor.act(Release{});
  floor.serial = first;
  REQUIRE(floor.act(Resume{}).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::accepted);
  floor.pull(12, 180, 0);
  CHECK(floor.act(Release{}).acceptance == Acceptance::taken);
}

TEST_CASE("A pull after release is kept; one that slipped stands against the serial for good") {
  ShopFloor floor;  // the recipe asks for none
  floor.up_to_position();
  floor.both_passes();
  floor.gauge_well();
  floor.act(Judge{});
  floor.act(Release{});
  CHECK(floor.pull(8, 60, 0.1).findings.empty());
  const auto slipped = floor.pull(9, 60, 3);
  REQUIRE(slipped.acceptance == Acceptance::taken);
  CHECK(slipped.findings.front().code == Code::proof_load_slipped);
  CHECK(floor.store.kept.back().entry.kind == "finding");
  CHECK(floor.stage() == Stage::released);
  CHECK(floor.station->fitting(floor.serial)->state.standing.front().code == Code::proof_load_slipped);
  REQUIRE(floor.open().ok());
  CHECK(floor.station->fitting(floor.serial)->state.proof_slipped);
}

TEST_CASE("A held fitting is used as it is only with the proof load that its recipe asks for") {
  ProofShop floor;
  floor.up_to_accepted();
  floor.act(HoldByOperator{});
  CHECK(floor.refusal(floor.dispose(Disposition::use_as_is)) == Code::proof_load_missing);
  floor.pull(12, 180, 0.2);
  CHECK(floor.dispose(Disposition::use_as_is).acceptance == Acceptance::taken);
  CHECK(floor.stage() == Stage::released);
}

TEST_CASE("States of older records read as nothing proposed, proven or quarantined") {
  const auto state = station::state_from_json(
      R"({"stage":"hold","pass":1,"bite":0,"bites_in_pass":2,"repeats":0,"re_presses":0,"token":0,)"
      R"("bites_done":1,"angle_by_encoder":false,"reseat_needed":false,"across_flats_uncertainty_mm":0.0,)"
      R"("go":"not_tried","no_go":"not_tried","surface":"not_looked_at",)"
      R"("standing":[{"code":"trace_has_hole","found":3.0,"least":0.0,"most":0.0}]})");
  REQUIRE(state.ok());
  State expected;
  expected.stage = Stage::hold;
  expected.pass = 1;
  expected.bites_in_pass = 2;
  expected.bites_done = 1;
  expected.standing = {{Code::trace_has_hole, 3, 0, 0}};
  CHECK(state.value() == expected);
}
