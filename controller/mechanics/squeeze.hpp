#pragma once
#include <vector>

#include "mechanics/section.hpp"
#include "quantity/result.hpp"

/// The physics of squeezing one length of shank, pass by pass, from bare dimensions. Pure: the same input
/// gives the same answer on every machine that rounds as IEEE 754 says. Units mm, N, MPa; forces per mm of
/// the shank's present length.
namespace shankwright::mechanics {

struct SqueezeInput {
  SectionInput section;
  Die die;
  int passes = 2;           ///< 1 to 4, a quarter turn between
  double least_gap_mm = 0;  ///< where each pass stops
  Fineness fineness = Fineness::standard;
};

/// While the dies close.
struct SqueezePoint {
  int pass = 1;
  double gap_mm = 0;
  double force_n_per_mm = 0;
  double growth = 0;  ///< under load, fraction of the original length
  double outer_area_mm2 = 0, bore_area_mm2 = 0;
  double die_pressure_mpa = 0;   ///< mean over the faces in contact
  double rope_pressure_mpa = 0;  ///< mean on the bore
  double rope_packing = 0;       ///< metal over bore area, 0 without rope; the remaining void is 1 less this
};

/// Where something begins as the gap falls, and what the opened dies leave.
struct PassResult {
  int pass = 1;
  double touch_gap_mm = 0;               ///< first contact of shank and dies
  std::optional<double> base_gap_mm;     ///< the faces along the closing axis touch too
  std::optional<double> rope_gap_mm;     ///< the bore meets the rope
  std::optional<double> lock_up_gap_mm;  ///< the rope presses the bore with the shank's yield stress or more
  double closing_force_n_per_mm = 0;     ///< at least_gap_mm
  double growth = 0;                     ///< after release
  double across_flats_mm =
      0;  ///< after release, widest pair of this pass's flats (round: along the closing axis)
  double base_width_mm = 0, side_width_mm = 0;  ///< after release, each pair
  double earlier_flats_mm = 0;  ///< after release, widest pair of the flats of the pass before (0 in pass 1)
  double flash_mm = 0;          ///< after release, metal past the dies' corner at the parting line, each side
  double spring_back_mm = 0;    ///< across_flats less what the closed dies held
  double rope_packing = 0;      ///< after release
};

struct SqueezeCourse {
  std::vector<SqueezePoint> points;  ///< pass by pass, gap falling: each asked gap below first contact (at or
                                     ///< above it the force is 0)
  std::vector<PassResult> after;
};

/// What is wrong with the input, or nothing: place names the quantity.
[[nodiscard]] std::optional<Problem> fault_of(const SqueezeInput& input);

/// `gaps_mm`, any order, each >= least_gap_mm; least_gap_mm itself is always reported. A section that finds
/// no equilibrium is a Problem too (place "section"), and so are dies so small that metal leaves them at the
/// parting line (place "across flats").
[[nodiscard]] Result<SqueezeCourse> squeeze(const SqueezeInput& input, std::vector<double> gaps_mm);

}  // namespace shankwright::mechanics
