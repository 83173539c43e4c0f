#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "ports/ports.hpp"

/// Follows one permit through the scans: taken, refused, expired, bite begun, bite over. Pure: time comes in
/// the scans.
namespace shankwright::station {

/// What the scans proved about the outstanding permit. At most one per scan that ends it.
struct BiteNews {
  enum class Kind : std::uint8_t {
    none,
    started,
    finished,
    refused,
    ended_without_bite,
    evidence_lost,
    unasked_bite
  };
  Kind kind = Kind::none;
  bool expired = false;               ///< ended_without_bite: by its own life
  std::uint16_t fault_code = 0;       ///< finished
  std::uint16_t refusal = 0;          ///< refused
  std::uint32_t samples_missing = 0;  ///< finished, evidence_lost
  double peak_pressure_bar = 0, dwell_ms = 0, least_gap_mm = 65.535;
};

class BiteTracker {
 public:
  /// The permit `token` has been handed to the driver; `last` is the scan it was decided on.
  void arm(std::uint16_t token, const ports::PressScan& last, std::int64_t now_us);
  [[nodiscard]] bool armed() const { return token_ != 0; }
  [[nodiscard]] bool started() const { return started_; }
  /// The driver did not send the permit; nothing can come of it.
  void disarm();

  [[nodiscard]] BiteNews take(const ports::PressScan& scan);

  /// Samples of the bite now running or last finished.
  [[nodiscard]] const std::vector<ports::Sample>& samples() const { return samples_; }
  [[nodiscard]] std::uint16_t samples_of() const { return samples_of_; }

 private:
  void gather(const ports::PressScan& scan);
  [[nodiscard]] BiteNews follow(const ports::PressScan& scan);
  [[nodiscard]] BiteNews finish(const ports::PressScan& scan);
  [[nodiscard]] BiteNews lose();
  [[nodiscard]] bool unasked(const ports::PressScan& scan);

  std::uint16_t token_ = 0;
  std::uint16_t bite_number_before_ = 0;
  std::int64_t armed_at_us_ = 0;
  std::int64_t trusted_at_us_ = 0;  ///< newest trustworthy scan while armed
  std::int64_t last_sample_at_us_ = 0;
  bool started_ = false;
  int scans_at_rest_ = 0;  ///< scans since the dies came to rest without a new sample
  std::uint32_t missing_ = 0;
  std::vector<ports::Sample> samples_;
  std::uint16_t samples_of_ = 0;
  bool have_samples_ = false;
  std::optional<std::uint16_t> known_bite_number_;  ///< while no permit is out
  /// A bite whose end nobody saw may still be running: until the press is seen at rest its movements belong
  /// to that bite and to no fitting that came after. So it is at the start, too.
  bool left_running_ = true;
};

}  // namespace shankwright::station
