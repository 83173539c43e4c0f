#pragma once
#include <memory>
#include <string>

#include "library/library.hpp"
#include "ports/station_port.hpp"

namespace shankwright::station {

struct StationOptions {
  std::string press_id;                      ///< the library's press this station runs
  std::int64_t stale_ms = 100;               ///< evidence older than this is no evidence
  std::int64_t permit_send_within_ms = 100;  ///< a permit not on the wire by then is not given
  /// Left on the record's disk: below the first no new fitting is begun, below the second no bite.
  std::uint64_t least_free_bytes = 256'000'000;
  std::uint64_t least_free_bytes_for_permit = 64'000'000;
};

/// The loop: take the scans, decide once, record, send, publish. One fitting is at the press at a time.
///
/// Threads: every StationPort call may come from any thread. tick() is for the one loop thread (or a test).
/// The link's own thread keeps the beat and the samples going while a tick or an act waits for the disk.
class Station final : public ports::StationPort {
 public:
  Station(StationOptions options, const ports::Clock& clock, ports::Press& press, ports::RecordStore& store,
          const library::Library& library, const library::Shop& shop, const people::People& people);
  ~Station() override;
  Station(const Station&) = delete;
  Station& operator=(const Station&) = delete;

  /// Reads what the last run left open: bites under way are marked interrupted and held, the rest is put
  /// aside. What uses a quarantined item is held. Says so in the notices. Must succeed before the first tick.
  [[nodiscard]] Result<int> recover();

  /// Orderly end: seals the record. The loop must have ended.
  void stop();

  /// One turn of the loop; waits at most `wait_ms` for the press to have something new.
  void tick(int wait_ms = 20);

  [[nodiscard]] ports::ActResult start_fitting(const ports::StartFitting& start) override;
  [[nodiscard]] ports::ActResult act(const ports::Act& act) override;
  [[nodiscard]] ports::ActResult press_order(ports::PressOrder::Kind kind, const std::string& actor) override;
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

 private:
  class Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace shankwright::station
