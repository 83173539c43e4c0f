#include "drivers/modbus/sample_ledger.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::modbus {

std::uint32_t SampleLedger::read_differently(const HeldSamples& held) const {
  if (held.bite != last_held_.bite) return 0;
  const auto newer = static_cast<std::uint16_t>(held.newest - last_held_.newest);
  // Element i of the present reading was element i + newer - (difference of the counts) of the one before.
  const auto shift = static_cast<std::ptrdiff_t>(newer) +
                     static_cast<std::ptrdiff_t>(last_held_.samples.size()) -
                     static_cast<std::ptrdiff_t>(held.samples.size());
  std::uint32_t differing = 0;
  for (std::size_t i = 0; i < held.samples.size(); ++i) {
    const auto before = static_cast<std::ptrdiff_t>(i) + shift;
    if (before < 0 || before >= static_cast<std::ptrdiff_t>(last_held_.samples.size())) continue;
    if (held.samples[i] != last_held_.samples[static_cast<std::size_t>(before)]) ++differing;
  }
  return differing;
}

void SampleLedger::take(const HeldSamples& held, ports::PressScan& scan) {
  const std::uint32_t differing = read_differently(held);
  last_held_ = held;
  scan.sample_bite = held.bite;
  scan.new_samples.clear();
  scan.samples_missing = 0;
  scan.first_sample = 0;
  const auto count = static_cast<std::uint32_t>(held.samples.size());
  if (count == 0 || !known_ ||
      held.bite != bite_) {  // nothing held, or another bite: it has to begin with sample 0
    known_ = true;
    bite_ = held.bite;
    next_ = 0;
    any_ = false;
    last_time_ms_ = 0;
    if (count == 0) return;
  }
  // Samples up to and including the newest that were not seen yet, by the 16-bit sequence number.
  std::uint32_t unseen = static_cast<std::uint16_t>(held.newest - next_ + 1);
  bool went_back = false;
  if (!any_) {
    unseen =
        static_cast<std::uint32_t>(held.newest) + 1;  // the whole bite so far; 65536 when the number is 65535
    // More samples held than the bite has had: the number wrapped before the first look at it.
    if (unseen < count) unseen += 65536;
  } else if (unseen > 32768) {  // more likely back than 65 s ahead; either way this bite is not whole
    went_back = true;
    next_ = 0;
    last_time_ms_ = 0;
    unseen = static_cast<std::uint32_t>(held.newest) + 1;
  }
  if (unseen == 0) {
    scan.samples_missing = differing;
    return;
  }
  const std::uint32_t fresh = std::min(unseen, count);
  scan.samples_missing = unseen - fresh;
  if (went_back) scan.samples_missing = std::max<std::uint32_t>(scan.samples_missing, 1);
  scan.samples_missing += differing;
  scan.first_sample = static_cast<std::uint16_t>(held.newest - fresh + 1);

  // Where the first new sample should lie in time, so that a 16-bit time is unwrapped over the hole before
  // it.
  const bool from_start = !any_ || went_back;
  const double expected_ms = (from_start ? 0.0 : static_cast<double>(last_time_ms_)) +
                             period_ms_ * ((unseen - fresh) + (from_start ? 0.0 : 1.0));
  scan.new_samples.reserve(fresh);
  for (std::uint32_t i = count - fresh; i < count; ++i) {
    const RawSample& raw = held.samples[i];
    std::uint32_t time_ms = 0;
    if (i == count - fresh) {
      const double turns = std::round((expected_ms - raw.time_ms) / 65536.0);
      time_ms = raw.time_ms + 65536U * static_cast<std::uint32_t>(std::max(0.0, turns));
    } else {
      time_ms =
          last_time_ms_ + static_cast<std::uint16_t>(raw.time_ms - static_cast<std::uint16_t>(last_time_ms_));
    }
    last_time_ms_ = time_ms;
    scan.new_samples.push_back({time_ms, raw.pressure_bar, raw.gap_mm});
  }
  next_ = static_cast<std::uint16_t>(held.newest + 1);
  any_ = true;
}

}  // namespace shankwright::modbus
