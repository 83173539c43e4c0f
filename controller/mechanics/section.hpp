#pragma once
#include <memory>
#include <optional>
#include <stdexcept>
#include <vector>

#include "mechanics/die_face.hpp"
#include "mechanics/materials.hpp"
#include "mechanics/section_mesh.hpp"

/// One cross-section of shank while dies close on it, as a finite-element problem small enough to be solved
/// on the spot: a quarter of the section in eight-node elements (reduced integration), large strains, J2
/// plasticity with logarithmic elastic strains, rigid die faces with Coulomb friction, free uniform growth
/// along the axis. Why this and not a formula, what it was checked against and its errors:
/// controller/mechanics/README.md. Units mm, N, MPa, everything per millimetre of length.
namespace shankwright::mechanics {

struct SectionInput {
  double shank_diameter_mm = 0;
  double bore_mm = 0;            ///< 0: solid
  std::optional<RopeCore> rope;  ///< none: empty bore
  FlowStress flow;
  double friction = 0.10;    ///< Coulomb, die on shank
  double axial_force_n = 0;  ///< resisting growth
};

/// The solver found no equilibrium; says at which gap. Input within the limits of squeeze() does not get
/// here.
struct NoEquilibrium : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// What can be measured on a section, loaded or not.
struct SectionReading {
  double growth = 0;          ///< axial, fraction of the original length
  double force_n_per_mm = 0;  ///< on the dies, per mm of present length; 0 when open
  double outer_area_mm2 = 0, bore_area_mm2 = 0;
  double base_width_mm = 0;     ///< widest across the faces pressed along the latest closing axis
  double side_width_mm = 0;     ///< widest across the faces 60 degrees off it
  double cross_width_mm = 0;    ///< widest across the parting line
  double first_width_mm = 0;    ///< widest pair of the flats of the squeeze before the latest
  bool base_touch = false;      ///< the faces along the closing axis touch
  double flash_mm = 0;          ///< how far metal stands past the dies' corner at the parting line, each side
  double corner_radius_mm = 0;  ///< farthest point from the axis
  double die_pressure_mpa = 0;  ///< mean over the faces in contact
  double rope_pressure_mpa = 0;  ///< mean, on the bore
  double rope_packing = 0;       ///< metal over bore area; 0 without rope
};

/// A section with its whole history. Copies are independent: several ways on can be tried from one state.
class Section {
 public:
  /// Throws std::invalid_argument for lengths that make no section (squeeze() words the limits for people).
  Section(const SectionInput& input, const Die& die, Fineness fineness);
  Section(const Section& other);
  Section& operator=(const Section& other);
  Section(Section&&) noexcept;
  Section& operator=(Section&&) noexcept;
  ~Section();

  /// Closes the dies to this gap from wherever they are. Throws NoEquilibrium.
  void close_to(double gap_mm);
  /// Opens the dies fully: the section springs back.
  void open();
  /// Turns the opened section a quarter turn under the dies.
  void quarter_turn();

  [[nodiscard]] double gap_mm() const;        ///< present; first touch when open
  [[nodiscard]] double touch_gap_mm() const;  ///< at which the dies would touch this section next
  [[nodiscard]] SectionReading reading() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace shankwright::mechanics
