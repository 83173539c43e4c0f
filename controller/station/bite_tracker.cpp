#include "station/bite_tracker.hpp"

namespace shankwright::station {
namespace {

// press-map.md: phases, permit states, status bits, fault codes
constexpr std::uint16_t phase_open = 1, phase_closing = 3, phase_holding = 4, phase_opening = 5,
                        phase_faulted = 6;
constexpr std::uint16_t permit_refused = 2, permit_withdrawn = 4, permit_expired = 5;
constexpr std::uint16_t status_dies_home = 1U << 4U;
constexpr std::uint16_t fault_permit_expired = 10;

/// A permit that the press has not echoed by then never reached it.
constexpr std::int64_t echo_wait_us = 1'000'000;
/// Before any motion a short loss of the link may heal and be explained by the press; longer, and nobody
/// knows.
constexpr std::int64_t quiet_loss_us = 10'000'000;
/// An emergency stop can leave the dies half-way for good: the bite is over when no sample came for this
/// long.
constexpr std::int64_t stopped_us = 500'000;

bool trustworthy(const ports::PressScan& scan) {
  return scan.link == ports::LinkState::connected && scan.beat_moving;
}

bool at_rest(const ports::PressScan& scan) {
  return (scan.phase == phase_open || scan.phase == phase_faulted) && (scan.status & status_dies_home) != 0;
}

bool moving(const ports::PressScan& scan) {
  return scan.phase == phase_closing || scan.phase == phase_holding || scan.phase == phase_opening;
}

}  // namespace

void BiteTracker::arm(std::uint16_t token, const ports::PressScan& last, std::int64_t now_us) {
  token_ = token;
  bite_number_before_ = last.bite_number;
  armed_at_us_ = trusted_at_us_ = last_sample_at_us_ = now_us;
  started_ = false;
  scans_at_rest_ = 0;
  missing_ = 0;
  samples_.clear();
  samples_of_ = static_cast<std::uint16_t>(last.bite_number + 1U);
  have_samples_ = false;
}

void BiteTracker::disarm() {
  token_ = 0;
  started_ = false;
  known_bite_number_.reset();  // learned anew from the next scan
}

void BiteTracker::gather(const ports::PressScan& scan) {
  if (scan.new_samples.empty() && scan.samples_missing == 0) return;
  if (armed() && scan.sample_bite != samples_of_) return;  // left over from an earlier bite
  if (!armed() && scan.sample_bite != samples_of_) {
    samples_.clear();
    samples_of_ = scan.sample_bite;
  }
  missing_ += scan.samples_missing;
  samples_.insert(samples_.end(), scan.new_samples.begin(), scan.new_samples.end());
  if (!scan.new_samples.empty()) {
    have_samples_ = true;
    last_sample_at_us_ = scan.at_monotonic_us;
  }
}

bool BiteTracker::unasked(const ports::PressScan& scan) {
  if (left_running_) {
    left_running_ = !at_rest(scan);
    known_bite_number_ = scan.bite_number;
    return false;
  }
  const std::uint16_t before = known_bite_number_.value_or(scan.bite_number);
  known_bite_number_ = scan.bite_number;
  if (scan.phase == phase_closing || scan.phase == phase_holding) return true;
  // A lower number is a press that was switched off and on; the highest wraps to 0.
  const bool wrapped = before == 0xFFFF && scan.bite_number == 0;
  return scan.bite_number > before || wrapped;
}

BiteNews BiteTracker::lose() {
  BiteNews news{.kind = BiteNews::Kind::evidence_lost, .samples_missing = missing_};
  disarm();
  left_running_ = true;
  return news;
}

BiteNews BiteTracker::take(const ports::PressScan& scan) {
  // Samples carry their own numbers: the driver hands each over once, also with a scan whose beat it has not
  // yet seen moving, and what is missing is said only there. Passing such a scan by would hide a hole.
  gather(scan);
  if (!armed()) {
    if (trustworthy(scan) && unasked(scan)) return {.kind = BiteNews::Kind::unasked_bite};
    return {};
  }
  if (!trustworthy(scan)) {
    const bool unknown = started_ || scan.at_monotonic_us - trusted_at_us_ > quiet_loss_us;
    return unknown ? lose() : BiteNews{};
  }
  trusted_at_us_ = scan.at_monotonic_us;
  return follow(scan);
}

BiteNews BiteTracker::follow(const ports::PressScan& scan) {
  const bool counted = scan.bite_number != bite_number_before_;
  const bool ours = scan.permit_echo == token_;
  if (!started_ && (moving(scan) || have_samples_ || (ours && counted))) {
    started_ = true;
    if (!counted) return {.kind = BiteNews::Kind::started};
  }
  if (started_) return finish(scan);

  if (ours && scan.permit_state == permit_refused) {
    BiteNews news{.kind = BiteNews::Kind::refused, .refusal = scan.refusal};
    disarm();
    return news;
  }
  const bool ended = ours && (scan.permit_state == permit_withdrawn || scan.permit_state == permit_expired);
  const bool faulted = ours && scan.phase == phase_faulted;
  const bool never_arrived = !ours && scan.at_monotonic_us - armed_at_us_ > echo_wait_us;
  if (ended || faulted || never_arrived) {
    if (counted) return lose();
    BiteNews news{.kind = BiteNews::Kind::ended_without_bite,
                  .expired = scan.permit_state == permit_expired || scan.fault_code == fault_permit_expired};
    disarm();
    return news;
  }
  return {};
}

BiteNews BiteTracker::finish(const ports::PressScan& scan) {
  const bool stopped_half_way =
      scan.phase == phase_faulted && scan.at_monotonic_us - last_sample_at_us_ > stopped_us;
  scans_at_rest_ = at_rest(scan) ? scans_at_rest_ + 1 : 0;
  const bool samples_over = scan.new_samples.empty() || scans_at_rest_ >= 3;
  if (!(at_rest(scan) && samples_over) && !stopped_half_way) return {};
  BiteNews news{.kind = BiteNews::Kind::finished,
                .fault_code = scan.fault_code,
                .samples_missing = missing_,
                .peak_pressure_bar = scan.peak_pressure_bar,
                .dwell_ms = scan.dwell_done_ms,
                .least_gap_mm = scan.least_gap_mm};
  disarm();
  known_bite_number_ = scan.bite_number;
  return news;
}

}  // namespace shankwright::station
