#pragma once
#include <functional>
#include <vector>

#include "prediction/part.hpp"

/// The section model as a smooth function of a fitting's values, so that ten thousand fittings cost no more
/// than one: a second-order expansion about the centre of a population, fitted to a few runs of the
/// finite-element section (one at the centre, two per input that scatters), with further runs kept aside to
/// measure what the expansion is wrong by.
namespace shankwright::prediction {

/// One pass over one fitting. Forces per mm of present shank length.
struct PassCurve {
  double touch_gap_mm = 0;             ///< first contact
  std::vector<double> force_n_per_mm;  ///< at gaps evenly spaced from touch_gap_mm (index 0) to 0 (last)
  std::vector<double> growth_loaded;   ///< at the same gaps, fraction of the original length
  double base_recoil_mm =
      0;  ///< by how much the flats across the closing axis are wider after release than the closed dies held
  double side_recoil_mm = 0;    ///< the same for the pairs 60 degrees off (hexagon)
  double growth_recoil = 0;     ///< growth lost on release, fraction of the original length, positive
  double rope_packing = 0;      ///< metal over bore area after release; 0 without rope
  double earlier_flats_mm = 0;  ///< after release, widest pair of the flats of the pass before; 0 in pass 1

  [[nodiscard]] double force_at(double gap_mm) const;   ///< 0 at or above touch_gap_mm
  [[nodiscard]] double growth_at(double gap_mm) const;  ///< under load
  /// The gap at which a force of this size stops the dies; 0 when the faces meet first (the force then
  /// exceeds what the shank needs).
  [[nodiscard]] double gap_at(double force_n_per_mm) const;
};

struct SurfaceSetting {
  recipe::JoinedRecipe joined;
  Filling filling;
  Population population;  ///< inputs with half_width 0 stay at their centre
  int passes = 2;
  mechanics::Fineness fineness = mechanics::Fineness::coarse;
  unsigned threads = 1;  ///< the answer does not depend on it
};

/// How well the expansion repeats runs it was not fitted to: greatest of those runs.
struct SurfaceError {
  double force = 0;   ///< relative, over the closing half of the gaps
  double growth = 0;  ///< fraction of length
  double width_mm = 0;
  /// Relative error of force by pass and gap, the gaps of PassCurve; 0 at first contact, last at closing.
  std::vector<std::vector<double>> force_by_gap{};
};

class Surface {
 public:
  /// Told after each run: runs done, runs in all. May be called from any thread, never two at a time.
  using Progress = std::function<void(int done, int all)>;

  /// A Problem when a run finds no equilibrium or the dimensions are out of the model's limits.
  [[nodiscard]] static Result<Surface> build(const SurfaceSetting& setting, const Progress& progress = {});

  /// All passes over one part. `stop_gaps_mm` says where the dies stopped in earlier passes (missing: 0,
  /// faces met); beyond a few tenths of a millimetre that is a rough guess. Values outside the population's
  /// width are carried on with the same expansion.
  [[nodiscard]] std::vector<PassCurve> predict(const Part& part,
                                               const std::vector<double>& stop_gaps_mm = {}) const;

  [[nodiscard]] const SurfaceSetting& setting() const { return setting_; }
  [[nodiscard]] const SurfaceError& error() const { return error_; }

 private:
  Surface() = default;
  SurfaceSetting setting_;
  SurfaceError error_;
  struct Varied {
    std::size_t input;  ///< by Input
    double centre, step;
  };
  std::vector<Varied> varied_;
  std::vector<std::vector<double>>
      terms_;  ///< constant, then linear and square of each varied input, then of the first stop gap
};

}  // namespace shankwright::prediction
