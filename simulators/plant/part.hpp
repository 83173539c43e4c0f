#pragma once
#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "simulators/plant/load.hpp"
#include "simulators/plant/random.hpp"
#include "simulators/plant/section.hpp"

/// A terminal with its rope: the truth that instruments read and the press squeezes. Positions along the axis
/// are mm from the bore end, positive toward the mouth, as the press map's edge distance.
namespace shankwright::plant {

struct DieTruth {
  DieShape shape = DieShape::hexagon;
  double across_flats_mm = 0;  ///< as worn
  double length_mm = 0;
};

struct PartTruth {
  double shank_od_mm = 0;
  double ovality_mm = 0;  ///< greatest less least diameter as turned
  double bore_mm = 0;
  double bore_depth_mm = 0;
  double solid_length_mm = 40;  ///< of shank below the bore end
  FlowStress flow;
  double friction = 0.10;
  double crack_strain = 0.62; ///< effective strain above which the skin cracks
};

struct RopeTruth {
  double metal_area_factor = 0.418;
  double diameter_mm = 0;
  double grip = 0.1;  ///< 0 free along the bore, 1 stretches with the shank
};

enum class SurfaceTruth { sound, cracked, lapped, wires_broken };

class Part final : public Load {
 public:
  Part(const PartTruth& truth, const RopeTruth& rope);
  ~Part() override;
  Part(Part&&) noexcept;
  Part& operator=(Part&&) noexcept;
  Part(const Part&) = delete;
  Part& operator=(const Part&) = delete;

  [[nodiscard]] const PartTruth& truth() const { return truth_; }
  [[nodiscard]] const RopeTruth& rope() const { return rope_; }

  // Rope and marks. The rope is out of the bore at first.
  /// Rope end that far from the bore end (0: home). False, and the rope is out, when it cannot go in: too
  /// thick, nothing left of the bore; false and nothing happens once the shank has been bitten.
  bool insert_rope(double short_by_mm);
  bool pull_rope_out();  ///< false once the shank has been bitten: the rope is held
  void mark_depth(double from_rope_end_mm);
  void mark_boundary(double from_mouth_mm);
  [[nodiscard]] bool rope_in() const { return rope_in_; }
  [[nodiscard]] std::optional<double> depth_mark_mm() const {
    return depth_mark_mm_;
  }  ///< from the rope's end
  [[nodiscard]] std::optional<double> depth_mark_to_mouth_mm()
      const;  ///< positive: mark stands outside; none without mark or rope
  [[nodiscard]] std::optional<double> boundary_mark_mm() const;      ///< from the bore end, now
  [[nodiscard]] std::optional<double> boundary_to_mouth_mm() const;  ///< now: grows with every bite
  [[nodiscard]] double mouth_mm() const;  ///< from the bore end, now: bore depth plus growth
  [[nodiscard]] double slip_mm() const { return slip_mm_; }  ///< rope pushed out of the mouth

  // One bite. start_bite when the dies begin to move, finish_bite when they are open again. Between the two
  // the part is the load of the press; outside a bite its force is 0.
  void start_bite(const DieTruth& die, double edge_mm, double angle_deg);
  [[nodiscard]] double force_kn(double gap_mm) const override;
  void reached(double gap_mm) override;
  void finish_bite(Random& random);
  [[nodiscard]] bool in_bite() const { return bite_ != nullptr; }
  [[nodiscard]] bool bitten() const { return bites_ > 0; }
  [[nodiscard]] int bites() const { return bites_; }  ///< that squeezed anything

  /// Width across one pair of flats (0 base, 1 and 2 sides, of the newest squeeze there) or a diameter where
  /// never squeezed, at this distance from the bore end. Die marks end where the die ended.
  [[nodiscard]] double width_mm(double from_bore_end_mm, int pair) const;
  /// Diameter over a never squeezed length near `from_bore_end_mm`, at this angle.
  [[nodiscard]] double diameter_mm(double angle_deg) const;
  [[nodiscard]] double straightness_mm() const { return bend_mm_; }
  [[nodiscard]] SurfaceTruth surface() const { return surface_; }
  /// First and last squeezed position over the bore, now; none before the first bite.
  struct Extent {
    double from_mm = 0, to_mm = 0;
  };
  [[nodiscard]] std::optional<Extent> swaged() const;
  /// Lengths of shank with one history each, bore end side first; what tests look at.
  struct Slice {
    double from_mm = 0, length_mm = 0;  ///< as made, before growth
    bool bore = true, roped = false;
    SectionState state;
    double growth = 0;                   ///< fraction, dies open
    DieShape shape = DieShape::hexagon;  ///< of the last die here
    double across_flats_mm = 0;          ///< likewise
  };
  [[nodiscard]] const std::vector<Slice>& slices() const { return slices_; }

 private:
  struct Bite;  // groups of equal slices under the die, and the least gap reached

  [[nodiscard]] SectionInput input_for(const Slice& slice, const DieTruth& die) const;
  void cut(double at_mm);                             ///< as made
  [[nodiscard]] double as_made(double now_mm) const;  ///< position now -> position as made
  [[nodiscard]] double now(double as_made_mm) const;
  [[nodiscard]] const Slice& slice_at(double now_mm) const;
  void look_at(const SectionState& before, const SectionState& after, DieShape shape, double angle_deg,
               Random& random);

  PartTruth truth_;
  RopeTruth rope_;
  std::vector<Slice> slices_;
  std::unique_ptr<Bite> bite_;
  bool rope_in_ = false;
  bool rope_locked_ = false;  ///< a bite over rope holds it
  double rope_short_mm_ = 0;
  std::optional<double> depth_mark_mm_, boundary_mark_as_made_mm_;
  double slip_mm_ = 0, bend_mm_ = 0;
  int bites_ = 0;
  SurfaceTruth surface_ = SurfaceTruth::sound;
};

}  // namespace shankwright::plant
