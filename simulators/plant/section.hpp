#pragma once
#include <memory>
#include <optional>
#include <vector>

/// One cross-section of shank between two die halves: the slab model of the bite, marched in the gap.
/// Everything is per millimetre of deformed length. Units mm, N, MPa. Formulas and the errors they are known
/// to make: simulators/README.md.
namespace shankwright::plant {

enum class DieShape { hexagon, round };

/// True stress K (e0 + e)^n with e0 = (yield / K)^(1/n).
struct FlowStress {
  double k_mpa = 1275;  ///< annealed 304, handbook value from memory; another handbook prints 1400 and 0.44
  double n = 0.45;
  double yield_mpa = 240;
};

/// The rope inside the bore, as a core that packs.
struct RopeCore {
  double metal_area_factor = 0.418;  ///< C in A = C d^2: 1x19 0.597, 7x7 0.432, 7x19 0.418
  double diameter_mm = 0;
};

/// Numbers the formulas were tuned with. The simulator's own set: a controller that predicts with other
/// numbers is then really tested.
struct SectionTuning {
  double corner = 0;  ///< how far corners stay open as the hoop shortens
  double work = 0;    ///< effective strain per strain of the mean section
  double friction_gain = 0;
  double bending = 0;      ///< plastic bending before the hoop yields
  double hoop_ramp = 0;    ///< hoop strain at which the hoop has taken over from bending
  double later_force = 1;  ///< hoop force of a squeeze on the corners of an earlier one, against the first
  double later_rope_force = 1;  ///< likewise, the share the rope's pressure has in it
  double later_growth = 1;      ///< likewise, growth per hoop strain
  double corner_contact = 0;    ///< share of the hoop force that flattening the corners takes
};
[[nodiscard]] SectionTuning tuning_of(DieShape shape);

struct SectionInput {
  double shank_od_mm = 0;
  double bore_mm = 0;            ///< 0: solid bar
  std::optional<RopeCore> rope;  ///< none: empty bore
  FlowStress flow;
  double friction = 0.10;    ///< Coulomb, die on shank
  double grip = 0;           ///< 0: rope slides freely along the bore, 1: it must stretch with the shank
  double axial_force_n = 0;  ///< resisting growth
  DieShape shape = DieShape::hexagon;
  double across_flats_mm = 0;  ///< W; the groove's diameter for a round die
};

/// What is wrong with the input (a sentence), or empty. The functions below take checked input only and throw
/// std::invalid_argument otherwise.
[[nodiscard]] const char* fault_of(const SectionInput& input);

/// Flats an earlier squeeze left: they bound the outline until the metal under them moves.
struct Imprint {
  double angle_deg = 0;     ///< of the squeeze, 0 to < 360
  double apothem_mm = 0;    ///< mean over the three pairs of flats, when made
  double hoop = 0;          ///< hoop strain when made
  double least_gap_mm = 0;  ///< of that squeeze
  bool operator==(const Imprint&) const = default;
};

/// What a section remembers. The default is a section never squeezed. Comparable, so that lengths of shank
/// with the same history can share one calculation.
struct SectionState {
  double log_stretch = 0;          ///< ln(1 + growth) under load
  double strain = 0;               ///< effective plastic strain
  double hoop = 0;                 ///< hoop strain, compression positive magnitude as a negative number
  double outer_area_mm2 = 0;       ///< 0 until first squeezed
  double peak_force_n_per_mm = 0;  ///< of the last squeeze, sets the spring-back
  int squeezes = 0;
  std::vector<Imprint> imprints;  ///< oldest first, one per angle
  bool operator==(const SectionState&) const = default;
};

class Outline;

/// Marches one section through one squeeze as the dies close. Opening and closing again within what was
/// reached is elastic. The caller steps the gap; results between calls depend only on the least gap asked for
/// so far.
class Squeeze {
 public:
  Squeeze(const SectionInput& input, const SectionState& before, double angle_deg);

  /// Gap at which metal first yields in this squeeze; above it the force is zero or elastic.
  [[nodiscard]] double first_contact_mm() const { return start_gap_mm_; }
  /// Force on the die halves at this gap, going no lower than before or further in, N per mm. Looks ahead
  /// only: what has been *reached* is said by reach().
  [[nodiscard]] double force_n_per_mm(double gap_mm, double reached_gap_mm) const;
  /// Force while closing for the first time through this gap.
  [[nodiscard]] double closing_force_n_per_mm(double gap_mm) const;
  [[nodiscard]] double growth_at(double gap_mm) const;  ///< under load, closing
  /// State of the section when the dies have been to this gap and opened again.
  [[nodiscard]] SectionState after(double least_gap_mm) const;

 private:
  struct Step {
    double log_stretch, strain, hoop, outer_area_mm2, force_n_per_mm;
  };
  [[nodiscard]] double force_of(const Step& step, double gap_mm) const;
  [[nodiscard]] double elastic_gap_mm(double force_n_per_mm) const;
  [[nodiscard]] Step at(double gap_mm) const;  ///< interpolated
  void march_to(double gap_mm) const;          ///< extends steps_

  SectionInput input_;
  SectionState before_;
  double angle_deg_ = 0;
  SectionTuning tuning_;
  std::shared_ptr<Outline> outline_;
  std::optional<double> resumed_gap_mm_;  ///< flats on the same flats: where that squeeze stopped
  double contact_at_start_ = 0;  ///< share of the full contact at once: 1 flats on flats, 0 flats on corners
  double start_gap_mm_ = 0;
  double hoop_gap_mm_ = 0;           ///< where the whole section begins to yield
  mutable std::vector<Step> steps_;  ///< at start_gap - i * step; grown on demand
};

/// Elastic return of the across-flats dimension when the dies open, mm.
[[nodiscard]] double spring_back_mm(const SectionInput& input, const SectionState& state);
/// Growth left after the dies have opened, a fraction of the length before any squeeze.
[[nodiscard]] double growth_after(const SectionInput& input, const SectionState& state);
/// The three pairs of flats of the last squeeze after opening: the base pair (along the closing axis) first,
/// mm.
[[nodiscard]] std::vector<double> widths_after_mm(const SectionInput& input, const SectionState& state);

/// A whole plan of squeezes at once, for recipes and checks.
struct SectionPoint {
  int pass = 1;
  double gap_mm = 0;
  double force_n_per_mm = 0;
  double growth = 0;  ///< under load
};
struct AfterPass {
  int pass = 1;
  double growth = 0;           ///< after opening
  double across_flats_mm = 0;  ///< widest pair of that pass's flats after opening
};
struct SectionCurve {
  std::vector<SectionPoint> points;  ///< pass by pass, gap descending
  std::vector<AfterPass> after;
};
/// Squeezes to `closed_gap_mm` at 0, then at turn_deg, 2 turn_deg ...; points every `step_mm` from first
/// contact, and exactly at each of `gaps_mm`.
[[nodiscard]] SectionCurve squeeze_plan(const SectionInput& input, int passes, double turn_deg,
                                        const std::vector<double>& gaps_mm, double closed_gap_mm = 0);

}  // namespace shankwright::plant
