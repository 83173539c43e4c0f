#pragma once
#include <cstdint>
#include <optional>

#include "drivers/modbus/codec.hpp"

/// Which samples of a bite were handed over, which are new and which nobody could read. Pure.
namespace shankwright::modbus {

class SampleLedger {
 public:
  /// `period_ms`: time between samples, used to unwrap time over a hole.
  explicit SampleLedger(double period_ms) : period_ms_(period_ms) {}

  /// Puts into `scan` the samples of `held` that were not handed over before, with their unwrapped time, and
  /// how many are missing just before them. The law it keeps: for every bite, samples handed over + samples
  /// missing = newest sequence number + 1 (less whole turns of the 16-bit number that passed unseen). A bite
  /// whose numbers go back without a new bite number is contradictory and counts at least one missing. At the
  /// usual scan rate every sample is read more than once; one that reads differently the second time was
  /// garbled on the way or is not kept by the press, and counts as missing on top: nobody can say which
  /// reading was true.
  void take(const HeldSamples& held, ports::PressScan& scan);

 private:
  [[nodiscard]] std::uint32_t read_differently(const HeldSamples& held) const;

  double period_ms_;
  HeldSamples last_held_;
  bool known_ = false;  ///< a bite is being followed
  std::uint16_t bite_ = 0;
  std::uint16_t next_ = 0;          ///< sequence number expected next
  bool any_ = false;                ///< a sample of this bite was handed over or counted
  std::uint32_t last_time_ms_ = 0;  ///< unwrapped, of the sample before next_
};

}  // namespace shankwright::modbus
