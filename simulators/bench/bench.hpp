#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "quantity/result.hpp"
#include "recipe/model.hpp"
#include "simulators/plant/part.hpp"

/// The world around the press: parts, rope, marks, hands and instruments. Everything a person or an
/// instrument can see comes from the true part with that instrument's noise and resolution; hands have
/// scatter. All draws come from the seed.
namespace shankwright::bench {

enum class RopeChoice : std::uint8_t { as_recipe, none, strand_1x19, rope_7x7, rope_7x19 };

/// What kind of terminal and rope end to draw. What is not set is drawn inside the recipe's tolerances.
struct PartWish {
  RopeChoice rope = RopeChoice::as_recipe;
  std::optional<double> shank_diameter_mm, bore_diameter_mm, bore_depth_mm, rope_diameter_mm, flow_k_mpa,
      friction, grip;
};

/// Draws a terminal as the recipe's drawing allows: dimensions normal inside their bands, material about
/// annealed 304.
[[nodiscard]] plant::PartTruth draw_part(const recipe::JoinedRecipe& joined, const PartWish& wish,
                                         plant::Random& random);
[[nodiscard]] plant::RopeTruth draw_rope(const recipe::JoinedRecipe& joined, const PartWish& wish,
                                         plant::Random& random);

/// The evidence an instrument gives. Exactly one of values, stations, result is filled, by kind.
struct Evidence {
  std::string kind;                                ///< as the station's evidence kinds
  std::string gauge;                               ///< id; may be empty for surface
  std::vector<double> values;                      ///< mm, or degrees for turn and reseated
  std::vector<std::array<double, 3>> stations_mm;  ///< across_flats
  std::string result;  ///< "passes"/"stops", or "sound"/"cracked"/"lapped"/"wires_broken"
};

class Bench {
 public:
  explicit Bench(std::uint64_t seed);

  /// A new terminal and rope end; the old one is taken away and the dies are empty. Counts from 1.
  int new_part(const recipe::JoinedRecipe& joined, const PartWish& wish);
  [[nodiscard]] bool has_part() const { return part_.has_value(); }
  [[nodiscard]] const plant::Part& part() const { return *part_; }  ///< only with has_part()
  [[nodiscard]] const recipe::JoinedRecipe& joined() const { return joined_; }
  [[nodiscard]] RopeChoice rope_choice() const { return rope_choice_; }

  // What hands do. Each says why it cannot be done (no part, dies not open is the caller's business), and
  // otherwise returns where the thing really ended up, mm or degrees.
  Result<double> mark_depth(double aimed_from_rope_end_mm);
  Result<double> mark_boundary(double aimed_from_mouth_mm);
  Result<double> insert(double short_by_mm);
  Result<double> pull_out();
  /// Puts the shank in the dies with the die edge this far from the boundary mark as seen (from the bore end
  /// where there is no mark), positive toward the mouth. Keeps the angle it had.
  Result<double> position(double edge_mm);
  Result<double> turn(double by_deg);
  void take_out_of_dies() {
    in_dies_ = false;
  }  ///< put back by position(), with a hand's scatter of the angle

  /// Mounts the die pair (with this much wear on the across-flats, drawn when not given); none takes it out.
  void mount(const std::optional<recipe::DiePair>& pair, std::optional<double> wear_mm = std::nullopt);
  [[nodiscard]] std::uint16_t die_tag() const { return die_tag_; }

  // What the press's sensors and the press itself see.
  [[nodiscard]] bool shank_present() const { return in_dies_; }
  [[nodiscard]] bool mark_seen() const;                          ///< depth mark within 1 mm of the mouth
  [[nodiscard]] double edge_mm() const;                          ///< true, from the bore end; 0 with no shank
  [[nodiscard]] double angle_deg() const { return angle_deg_; }  ///< true, 0 to < 360

  /// The part in the dies as the press's load for the stroke that now begins (no part, or no dies: air),
  /// valid until finish_stroke. finish_stroke when the dies are home again.
  plant::Load& start_stroke();
  void finish_stroke();

  /// turn: angle away from the flats last pressed (or from the first set-up), -5 to < 355; reseated: from the
  /// flats the coming bite is meant for. position: die edge to boundary mark. across_flats: `readings`
  /// stations. A reading that an instrument can make but nobody has a use for yet (growth before the first
  /// bite) is given all the same. One reading of this kind with this gauge, `readings` values or stations.
  /// The gauge may be null for surface. The Problem says what is missing: no part, no mark, a gauge of a kind
  /// that cannot read this.
  [[nodiscard]] Result<Evidence> measure(const std::string& kind, const recipe::Gauge* gauge, int readings);

  /// Hash of everything that was drawn or pressed so far; equal for equal seeds and equal calls.
  [[nodiscard]] std::uint64_t digest() const { return digest_; }

 private:
  [[nodiscard]] Result<Evidence> read_values(const std::string& kind, const recipe::Gauge& gauge,
                                             int readings);
  [[nodiscard]] Result<double> truth_of(const std::string& kind);
  [[nodiscard]] Evidence across_flats(const recipe::Gauge& gauge, int stations);
  [[nodiscard]] Result<Evidence> limit_gauge(const std::string& kind, const recipe::Gauge& gauge);
  [[nodiscard]] double read(double truth,
                            const recipe::Gauge& gauge);  ///< one reading with noise and resolution
  void note(double value);                                ///< into the digest

  std::uint64_t seed_;
  plant::Random random_;
  recipe::JoinedRecipe joined_;
  std::optional<plant::Part> part_;
  plant::NoLoad air_;
  RopeChoice rope_choice_ = RopeChoice::as_recipe;
  int parts_ = 0;
  bool in_dies_ = false;
  double edge_mm_ = 0, angle_deg_ = 0;
  std::optional<double>
      flats_angle_deg_;  ///< where the protractor was zeroed: the flats last pressed, or the first set-up
  std::optional<double> turned_to_deg_;  ///< where the last turn was read, until the next bite
  std::optional<plant::DieTruth> die_;
  std::uint16_t die_tag_ = 0;
  std::uint64_t digest_ = 0xCBF29CE484222325u;
};

}  // namespace shankwright::bench
