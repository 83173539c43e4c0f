#pragma once
#include <array>
#include <cstdint>
#include <variant>
#include <vector>

#include "procedure/state.hpp"

/// What can happen to a fitting. Every default is the unsafe reading: an event somebody forgot to fill is
/// refused.
namespace shankwright::procedure {

/// The gauge a value was read with, judged by the shell against the shop's register at the moment of reading.
struct Tool {
  bool known = false, right_kind = false, in_date = false;
  double expanded_uncertainty_mm = 0;  ///< degrees for a protractor, kN for a load cell
  bool free = false;                   ///< not quarantined
  bool operator==(const Tool&) const = default;
};

enum class Phase : std::uint8_t {
  stopped,
  open,
  permitted,
  closing,
  holding,
  opening,
  faulted
};  ///< press-map.md

/// The press as the newest scan shows it.
struct PressEvidence {
  bool fresh = false;  ///< newest scan young enough, node beat moving, map version as expected
  Phase phase = Phase::stopped;
  bool emergency_circuit_healthy = false, guard_closed = false, remote_selected = false,
       shank_present = false;
  std::uint16_t fault_code = 0;
  std::uint16_t die_tag = 0;
  bool mark_sensor_fitted = false, mark_seen = false;
  bool angle_encoder_fitted = false;
  double angle_deg = 0;
  bool position_sensor_fitted = false;
  double edge_distance_mm = 0;
  bool operator==(const PressEvidence&) const = default;
};

struct Admit {  // one flag per question of admission
  bool operator_signed_in = false, operator_qualified = false, recipe_released = false;
  bool die_pair_known = false, die_life_left = false, die_inspection_in_date = false;
  bool press_calibration_in_date = false, gauges_in_date = false;
  bool rope_lot_known = false, rope_lot_free = false, rope_lot_matches = false;
  bool terminal_lot_known = false, terminal_lot_free = false, terminal_lot_matches = false;
  bool recipe_for_this_press = false;
  bool die_pair_free = false, gauges_free = false;  ///< not quarantined
  bool record_has_room = false;                     ///< for a whole fitting, and then some
  bool operator==(const Admit&) const = default;
};
struct RopeDiameter {
  std::vector<double> readings_mm;
  Tool tool;
};
struct ShankDiameter {
  double value_mm = 0;
  Tool tool;
};
struct BoreDepth {
  double value_mm = 0;
  Tool tool;
};
struct DepthMark {
  double from_rope_end_mm = 0;
  Tool tool;
};
struct BoundaryMark {
  double from_mouth_mm = 0;
  Tool tool;
};
struct Insertion {
  double mark_to_mouth_mm = 0;
  Tool tool;
};
/// Die edge against the boundary mark, read by the operator. Where a position sensor is fitted the core takes
/// the sensor's reading and refuses when the operator's differs from it by more than the position tolerance.
struct Position {
  double edge_mm = 0;
  Tool tool;
  PressEvidence press;
};
/// Angle of the shank for the pass that now begins. With an encoder the press's angle is taken and
/// `angle_deg` is ignored; without one it is the protractor's reading from the first pass's zero.
struct Turn {
  double angle_deg = 0;
  Tool tool;
  PressEvidence press;
};
/// The shank is back in the dies on the flats of the pass it left in.
struct Reseated {
  double angle_deg = 0;
  Tool tool;
  PressEvidence press;
};
struct RequestPermit {
  std::uint16_t token = 0;
  PressEvidence press;
  bool record_has_room = false;  ///< for this bite and what follows it
};
/// The recorded permit is durable; `press` is a scan newer than the one it was asked on.
struct PermitDurable {
  PressEvidence press;
};
struct PermitRefused {
  std::uint16_t refusal = 0;
};  ///< by the press
struct PermitEnded {
  bool expired = false;
  bool proven_no_bite = false;
};                      ///< expired or withdrawn, nothing pressed
struct BiteStarted {};  ///< first motion under the permit
/// One bite as recorded. `force_kn` lists force read off the closing trace at the recipe's envelope gaps,
/// same order.
struct BiteFinished {
  std::uint16_t token = 0;
  std::uint16_t fault_code = 0;  ///< node's, 0 none
  bool trace_present = false;
  std::uint32_t samples_missing = 1;   ///< holes, unread head or tail
  double peak_pressure_bar = 0;        ///< node's register
  double trace_peak_pressure_bar = 0;  ///< from the samples
  double peak_force_kn = 0;
  double dwell_ms = 0;
  double least_gap_mm = 65.535;
  std::vector<double> force_kn;
};
struct LinkLost {};     ///< no trustworthy scan while a permit or bite was open
struct Restarted {};    ///< the station starts with this fitting still open
struct UnaskedBite {};  ///< the press counted a bite nobody permitted
struct Withdraw {};     ///< operator takes the permit back
struct PutAside {};
struct Resume {
  bool another_open = true;
};
struct HoldByOperator {};
struct AcrossFlats {
  std::vector<std::array<double, 3>> stations_mm;
  Tool tool;
};
struct GoGauge {
  Limit result = Limit::not_tried;
  Tool tool;
};
struct NoGoGauge {
  Limit result = Limit::not_tried;
  Tool tool;
};
struct Growth {
  double boundary_to_mouth_mm = 0;
  Tool tool;
};  ///< after pressing; before, it was boundary_mark_mm
struct Straightness {
  double value_mm = 0;
  Tool tool;
};
struct Slip {
  double mark_to_mouth_mm = 0;
  Tool tool;
};  ///< after pressing; compared with the insertion reading
struct SurfaceSeen {
  Surface surface = Surface::not_looked_at;
};
struct Judge {};  ///< all gauging given: verdict wanted
struct Release {
  bool operator_signed_in = false;
};
struct Dispose {
  Disposition disposition = Disposition::scrap;
  bool reviewer = false;
  bool reason_given = false;
  bool signed_with_pin = false;         ///< given again for this very disposition
  bool same_person_as_proposed = true;  ///< where a proposal stands: whose it is
  bool items_free = false;              ///< nothing that this fitting uses is quarantined
};
/// Something this fitting uses was quarantined: its rope lot, terminal lot, die pair or a gauge it was read
/// with.
struct Quarantined {};
/// A pull on the finished terminal. The load is what the load cell showed; its machine's class, not a guard
/// band, is what proof test standards ask for. Slip is how far the rope came out of the terminal.
struct ProofLoad {
  double load_kn = 0;
  double held_s = 0;
  double slip_mm = 1000;
  Tool tool;
};

using Event = std::variant<Admit, RopeDiameter, ShankDiameter, BoreDepth, DepthMark, BoundaryMark, Insertion,
                           Position, Turn, Reseated, RequestPermit, PermitDurable, PermitRefused, PermitEnded,
                           BiteStarted, BiteFinished, LinkLost, Restarted, UnaskedBite, Withdraw, PutAside,
                           Resume, HoldByOperator, AcrossFlats, GoGauge, NoGoGauge, Growth, Straightness,
                           Slip, SurfaceSeen, Judge, Release, Dispose, Quarantined, ProofLoad>;

}  // namespace shankwright::procedure
