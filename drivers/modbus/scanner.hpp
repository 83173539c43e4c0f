#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "drivers/modbus/client.hpp"
#include "drivers/modbus/codec.hpp"
#include "drivers/modbus/sample_ledger.hpp"
#include "ports/ports.hpp"

namespace shankwright::modbus {

/// One scan: one read of the profile's window, decoded, with samples and node beat accounted for. Knows
/// nothing of reconnecting, orders or threads.
class Scanner {
 public:
  /// `frozen_beat_ms`: a node beat that stays the same for longer is a dead node.
  Scanner(const Profile& profile, Client& client, const ports::Clock& clock, int frozen_beat_ms);

  /// Reads once. When the answer is ok, scan() is new; its link says connected, or stale with words when the
  /// answer cannot be trusted (another map version, a beat that does not move, a register that holds
  /// nonsense). A scan of another map version carries the values of the last good one, because its registers
  /// mean something else.
  [[nodiscard]] Outcome scan_once();
  [[nodiscard]] const ports::PressScan& scan() const { return scan_; }
  /// The last answer showed the profile's map version, so that writing is safe.
  [[nodiscard]] bool map_proven() const { return map_proven_; }
  /// The connection was lost: the beat has to be seen moving again, the map version has to be proven again.
  void forget();

 private:
  void judge_beat();

  const Profile& profile_;
  Client& client_;
  const ports::Clock& clock_;
  std::int64_t frozen_beat_us_;
  std::vector<std::uint16_t> window_;
  SampleLedger ledger_;
  HeldSamples held_;
  ports::PressScan scan_;
  bool map_proven_ = false;
  std::optional<std::uint16_t> beat_;
  std::optional<std::int64_t> beat_moved_at_us_;
};

}  // namespace shankwright::modbus
