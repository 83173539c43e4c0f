#include <catch2/catch.hpp>

#include "shop_floor.hpp"
#include "upkeep/press_calibrations.hpp"

// Goal: until when the press may be used is what its newest force calibration on record says, and the shop
// register only while there is none. Method: entries as the workshop writes them, between two admissions.
using namespace shankwright;
using namespace shankwright::tests;
using ports::Acceptance;
using procedure::Code;

namespace {

void calibrate(ShopFloor& floor, const std::string& press, const std::string& due_day) {
  ports::NewEntry entry;
  entry.kind = "station";
  entry.event = upkeep::calibrated_event;
  entry.body_json = R"({"press":")" + press + R"(","due_day":)" + due_day + "}";
  REQUIRE(floor.store.append({entry}));
}

std::vector<Code> codes_of(const ports::ActResult& result) {
  std::vector<Code> out;
  for (const auto& finding : result.findings) out.push_back(finding.code);
  return out;
}

}  // namespace

TEST_CASE("A force calibration on record moves the day on which the press falls due, either way") {
  ShopFloor floor;
  floor.shop.press_calibration_due_day["press"] = 1;  // long past
  const std::vector<Code> overdue = {Code::press_calibration_overdue};
  CHECK(codes_of(floor.start()) == overdue);
  const std::int64_t today = floor.clock.utc_us() / 86'400'000'000;
  calibrate(floor, "another-press", "100000");
  CHECK(codes_of(floor.start()) == overdue);
  calibrate(floor, "press", std::to_string(today - 1));
  CHECK(codes_of(floor.start()) == overdue);
  calibrate(floor, "press", std::to_string(today));
  CHECK(floor.start().acceptance == Acceptance::taken);
}

TEST_CASE("A calibration that did not reach its class stops the press, whatever the register says") {
  ShopFloor floor;
  calibrate(floor, "press", "null");
  CHECK(codes_of(floor.start()) == std::vector<Code>{Code::press_calibration_overdue});
  REQUIRE(floor.open());  // and a restart forgets nothing
  CHECK(codes_of(floor.start()) == std::vector<Code>{Code::press_calibration_overdue});
}

TEST_CASE("A calibration that nobody can read stops the press") {
  ShopFloor floor;
  calibrate(floor, "press", "1e");
  CHECK(codes_of(floor.start()) == std::vector<Code>{Code::press_calibration_overdue});
}
