#include "drivers/modbus/scanner.hpp"

namespace shankwright::modbus {

Scanner::Scanner(const Profile& profile, Client& client, const ports::Clock& clock, int frozen_beat_ms)
    : profile_(profile),
      client_(client),
      clock_(clock),
      frozen_beat_us_(std::int64_t{1000} * frozen_beat_ms),
      window_(profile.read_window.count),
      ledger_(profile.samples.period_ms) {}

Outcome Scanner::scan_once() {
  Outcome outcome = client_.read(profile_.read_function, profile_.read_window, window_);
  if (!outcome.ok()) return outcome;
  const std::int64_t now_us = clock_.monotonic_us();
  scan_.new_samples.clear();
  scan_.samples_missing = 0;
  scan_.first_sample = 0;
  scan_.link_problem.clear();
  scan_.link = ports::LinkState::connected;

  const std::uint16_t version = decode_map_version(profile_, window_);
  map_proven_ = version == profile_.map_version;
  if (!map_proven_) {
    scan_.map_version = version;
    scan_.link = ports::LinkState::stale;
    scan_.beat_moving = false;
    scan_.link_problem = "the press shows map version " + std::to_string(version) + ", the profile \"" +
                         profile_.name + "\" is for version " + std::to_string(profile_.map_version);
    return outcome;
  }
  ports::PressScan decoded;
  if (const auto problem = decode(profile_, window_, decoded, held_)) {
    scan_.link = ports::LinkState::stale;
    scan_.beat_moving = false;
    scan_.link_problem = problem->text();
    return outcome;
  }
  decoded.new_samples = std::move(scan_.new_samples);  // keeps the vector's memory
  decoded.at_monotonic_us = now_us;
  decoded.link = ports::LinkState::connected;
  scan_ = std::move(decoded);
  ledger_.take(held_, scan_);
  judge_beat();
  return outcome;
}

void Scanner::judge_beat() {
  if (beat_ && *beat_ != scan_.node_beat) beat_moved_at_us_ = scan_.at_monotonic_us;
  beat_ = scan_.node_beat;
  const bool seen = beat_moved_at_us_.has_value();
  scan_.beat_moving = seen && scan_.at_monotonic_us - *beat_moved_at_us_ <= frozen_beat_us_;
  if (scan_.beat_moving) return;
  scan_.link = ports::LinkState::stale;
  scan_.link_problem =
      seen ? "the press node's beat stands still" : "the press node's beat has not been seen moving yet";
}

void Scanner::forget() {
  beat_.reset();
  beat_moved_at_us_.reset();
  map_proven_ = false;
}

}  // namespace shankwright::modbus
