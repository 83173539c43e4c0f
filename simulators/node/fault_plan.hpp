#pragma once
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/result.hpp"
#include "simulators/node/link_faults.hpp"
#include "simulators/plant/plant.hpp"

/// Faults as windows of press time. What each does and what is promised under it: simulators/README.md.
namespace shankwright::node {

enum class FaultKind : std::uint8_t {
  beat_frozen,
  image_frozen,
  link_dropped,
  silent,
  answers_lost,
  answer_delay_ms,
  exception_code,
  garbled,
  half_frames,
  sample_hole_every,
  pressure_frozen,
  pressure_offset_bar,
  gap_dead,
  gap_offset_mm,
  relief_valve_bar,
  air_fraction,
  oil_temperature_c,
  pump_wear,
  leak_mm3_s_bar
};

struct FaultDescription {
  FaultKind kind;
  std::string_view name;           ///< in JSON and on the command line
  bool has_value;                  ///< false: it is on or off
  double least, most;              ///< values taken
  double drawn_least, drawn_most;  ///< values drawn by random_windows
};
[[nodiscard]] std::span<const FaultDescription> fault_descriptions();
[[nodiscard]] const FaultDescription& description_of(FaultKind kind);
[[nodiscard]] const FaultDescription* find_fault(
    std::string_view name);  ///< null when there is none of that name

inline constexpr std::int64_t no_end_ms = INT64_MAX;

/// One fault, on during [from_ms, until_ms) of press time.
struct FaultWindow {
  FaultKind kind = FaultKind::beat_frozen;
  double value = 0;
  std::int64_t from_ms = 0;
  std::int64_t until_ms = no_end_ms;
};

/// "link_dropped@20s+2s", "relief_valve_bar=180", "answer_delay_ms=60@500ms+3s": name, value where it has
/// one, start and length; without start from power-on, without length for good.
[[nodiscard]] Result<FaultWindow> parse_fault(std::string_view text);
/// The same text back, for a run to be told again.
[[nodiscard]] std::string text_of(const FaultWindow& window);
/// `count` windows of 0.2 to 5 s within the first `within_ms`, kinds and values drawn from the seed.
[[nodiscard]] std::vector<FaultWindow> random_windows(std::uint64_t seed, int count, std::int64_t within_ms);

/// Everything that is wrong at one moment, sorted by whom it concerns. A later window of a kind wins over an
/// earlier.
struct ActiveFaults {
  LinkFaults link;
  plant::Faults plant;
  bool beat_frozen = false;
  bool image_frozen = false;
  int sample_hole_every = 0;  ///< 0: none
};
[[nodiscard]] ActiveFaults active_at(std::span<const FaultWindow> windows, std::int64_t now_ms);

}  // namespace shankwright::node
