#pragma once
#include <array>
#include <atomic>
#include <condition_variable>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "library/library.hpp"
#include "ports/station_port.hpp"

/// A station, a record, a library and a clock that say what a test tells them to. Demo data throughout.
namespace shankwright::hmi_test {

class FakeClock : public ports::Clock {
 public:
  [[nodiscard]] std::int64_t utc_us() const override { return utc; }
  [[nodiscard]] std::int64_t monotonic_us() const override { return monotonic; }
  std::atomic<std::int64_t> utc{1'935'500'000'000'000};  ///< 2031-05-02T14:53:20Z
  std::atomic<std::int64_t> monotonic{5'000'000};
};

/// Knows one fitting in every stage, "AT-<stage>", each full of evidence; and answers by serial: "REFUSES" is
/// refused with every finding code there is, "FAULTY" meets a broken record, other serials are unknown.
/// Everything else is taken.
class FakeStation : public ports::StationPort {
 public:
  FakeStation();
  [[nodiscard]] ports::ActResult start_fitting(const ports::StartFitting& start) override;
  [[nodiscard]] ports::ActResult act(const ports::Act& act) override;
  [[nodiscard]] ports::ActResult press_order(ports::PressOrder::Kind kind, const std::string& actor) override;
  /// An item "none" is unknown; "FAULTY" meets a full disk. Anything else is taken: two held, three released.
  [[nodiscard]] ports::QuarantineResult quarantine(const ports::QuarantineAsked& asked) override;
  [[nodiscard]] ports::QuarantineResult quarantine_preview(const ports::QuarantineAsked& asked) override;
  [[nodiscard]] ports::QuarantineResult lift_quarantine(const ports::QuarantineAsked& asked) override;
  [[nodiscard]] std::vector<ports::QuarantinedItem> quarantined() const override;
  [[nodiscard]] ports::ActResult correct(const ports::Correction& correction) override;
  [[nodiscard]] ports::ActResult end_shift(const std::string& actor) override;
  [[nodiscard]] ports::ActResult take_over_control(const ports::ControlTakenOver& taken) override;
  [[nodiscard]] std::shared_ptr<const ports::Snapshot> latest() const override;
  [[nodiscard]] std::shared_ptr<const ports::Snapshot> wait_newer(std::uint64_t version,
                                                                  int timeout_ms) const override;
  [[nodiscard]] std::shared_ptr<const ports::FittingView> fitting(const std::string& serial) const override;

  /// Publishes `snapshot` under the next version.
  void publish(ports::Snapshot snapshot);

  // What was asked, oldest first.
  [[nodiscard]] std::vector<ports::StartFitting> starts() const;
  [[nodiscard]] std::vector<ports::Act> acts() const;
  [[nodiscard]] std::vector<std::pair<ports::PressOrder::Kind, std::string>> orders() const;
  [[nodiscard]] std::vector<std::pair<std::string, ports::QuarantineAsked>> quarantines() const;
  [[nodiscard]] std::vector<ports::Correction> corrections() const;
  [[nodiscard]] std::vector<std::string> shifts_ended() const;
  [[nodiscard]] std::vector<ports::ControlTakenOver> taken_over() const;
  [[nodiscard]] std::size_t calls() const;

  /// When set, the next orders to the press are answered so.
  std::atomic<ports::Acceptance> order_answer{ports::Acceptance::taken};
  /// When set, taking control over is answered so; refused because a bite runs.
  std::atomic<ports::Acceptance> take_over_answer{ports::Acceptance::taken};

 private:
  mutable std::mutex mutex_;
  mutable std::condition_variable changed_;
  std::shared_ptr<const ports::Snapshot> snapshot_;
  std::vector<ports::StartFitting> starts_;
  std::vector<ports::Act> acts_;
  std::vector<std::pair<ports::PressOrder::Kind, std::string>> orders_;
  std::vector<std::pair<std::string, ports::QuarantineAsked>> quarantines_;  ///< "preview", "put", "lift"
  std::vector<ports::Correction> corrections_;
  std::vector<std::string> shifts_ended_;
  std::vector<ports::ControlTakenOver> taken_over_;
  ports::QuarantineResult keep(const std::string& how, const ports::QuarantineAsked& asked);
};

/// Rows "S-0001" and up; each with one reading and one bite; remembers the last filter. What the
/// server has no business calling answers with a Problem.
class FakeRecord : public ports::RecordStore {
 public:
  std::atomic<std::size_t> rows{5};
  std::atomic<bool> broken{false};
  [[nodiscard]] ports::FittingFilter last_filter() const;

  [[nodiscard]] Result<std::int64_t> append(const std::vector<ports::NewEntry>& entries) override;
  [[nodiscard]] Result<std::string> reserve_serial(std::int64_t at_utc_us) override;
  [[nodiscard]] Result<std::int64_t> open_fitting(const ports::FittingRow& row,
                                                  const ports::NewEntry& admit) override;
  [[nodiscard]] Result<std::vector<ports::FittingRow>> open_fittings() const override;
  [[nodiscard]] Result<std::vector<ports::FittingRow>> find(
      const ports::FittingFilter& filter) const override;
  [[nodiscard]] Result<ports::FittingRow> fitting(const std::string& serial) const override;
  [[nodiscard]] Result<std::vector<ports::StoredEntry>> entries(const std::string& serial,
                                                                bool with_traces) const override;
  [[nodiscard]] Result<std::int64_t> append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                     const std::string& why) override;
  [[nodiscard]] Result<ports::Seal> seal_over(const std::string& serial) const override;
  [[nodiscard]] Result<std::vector<ports::StoredEntry>> entries_of_kind(const std::string& kind,
                                                                        std::int64_t after) const override;
  [[nodiscard]] Result<std::uint64_t> strokes_of(const std::string& die_pair_id) const override;
  [[nodiscard]] Result<std::uint64_t> free_bytes() const override;

 private:
  mutable std::mutex mutex_;
  mutable ports::FittingFilter last_;
};

[[nodiscard]] recipe::JoinedRecipe demo_recipe();
[[nodiscard]] library::Library demo_library();
/// People: op-1 (operator), tech-1 (technician), rev-1 (reviewer), plan-1 (planner), all-1 (every role).
[[nodiscard]] library::Shop demo_shop();
[[nodiscard]] ports::FittingView demo_fitting(procedure::Stage stage);
[[nodiscard]] ports::Snapshot demo_snapshot();
[[nodiscard]] std::vector<procedure::Finding> every_finding();

}  // namespace shankwright::hmi_test
