#pragma once
#include <atomic>
#include <string>
#include <vector>

#include "fake_station.hpp"
#include "ports/review_port.hpp"

namespace shankwright::hmi_test {

/// A record as a whole that says what a test tells it to: fittings of the fake record, without end where
/// `endless`; a verification that runs for as long as `verifying`; every serial proven but "BROKEN".
class FakeReview final : public ports::ReviewPort {
 public:
  explicit FakeReview(const FakeRecord& record) : record_(record) {}

  std::atomic<bool> endless{false}, breaks_off{false}, verifying{false};
  std::atomic<std::int64_t> visited{0};
  ports::Verification newest;  ///< while nothing verifies

  [[nodiscard]] Result<std::int64_t> each_fitting(
      const ports::FittingFilter& filter,
      const std::function<bool(const ports::FittingRow&)>& visit) const override {
    auto& count = const_cast<std::atomic<std::int64_t>&>(visited);
    do {
      const auto rows = record_.find(filter);
      if (!rows) return rows.problem();
      for (const auto& row : rows.value()) {
        ++count;
        if (!visit(row)) return count.load();
      }
    } while (endless);
    if (breaks_off) return Problem{"record", "a damaged file", "a record that can be read"};
    return count.load();
  }
  [[nodiscard]] Result<std::vector<std::string>> serials_near(const std::string&,
                                                              std::size_t) const override {
    return std::vector<std::string>{"SW-000002-QG"};
  }
  [[nodiscard]] ports::Verification verification() const override {
    if (!verifying) return newest;
    ports::Verification out;
    out.state = ports::Verification::State::running;
    out.asked_by = "rev-1";
    out.started_utc_us = 1'935'499'990'000'000;  // ten seconds before the fake clock's now
    out.bytes = 1'000'000;
    out.part = "hashes";
    out.part_done = 250;
    out.part_of = 1000;
    return out;
  }
  [[nodiscard]] bool verify_whole(const std::string& actor) override {
    asked_by.push_back(actor);
    return !verifying.exchange(true);
  }
  [[nodiscard]] Result<ports::DossierProof> prove(const std::string& serial) const override {
    if (serial == "none") return Problem{"serial", serial, "the serial of a fitting in this record"};
    if (serial == "FAULTY") return Problem{"record", "a damaged file", "a record that can be read"};
    ports::DossierProof out;
    out.first_sequence = 3;
    out.last_sequence = 9;
    out.entries = 8;
    if (serial == "BROKEN") {
      out.findings = {{5, "Entry 5: its content does not match its hash."}};
    } else {
      out.chain_holds = out.own_entries_hold = out.sealed = true;
      out.seal = ports::Seal{10,
                             1'935'400'600'999'999,
                             "release",
                             std::string(64, 'a'),
                             std::string(64, 'b'),
                             std::string(128, 'c')};
    }
    return out;
  }
  std::vector<std::string> asked_by;

 private:
  const FakeRecord& record_;
};

}  // namespace shankwright::hmi_test
