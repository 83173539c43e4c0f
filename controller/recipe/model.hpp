#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

/// What a recipe and the things it names say, after checking. Plain values; nothing here reads files or does I/O.
/// Lengths mm, forces kN, pressures bar, angles degrees, times ms, areas mm2.
namespace shankwright::recipe {

enum class Status : std::uint8_t { draft, released, withdrawn };
enum class Construction : std::uint8_t { strand_1x19, rope_7x7, rope_7x19 };
/// What a terminal's solid end is fastened by.
enum class EndKind : std::uint8_t { eye, fork, stud, ball, stop };
enum class DieShape : std::uint8_t { hexagon, round };
enum class GaugeKind : std::uint8_t { caliper, micrometer, depth_rod, rule, protractor, go_gap, no_go_gap, straight_edge, tape, loupe, load_cell };

/// A closed interval a measured value must lie in.
struct Band {
  double least = 0;
  double most = 0;
  [[nodiscard]] bool holds(double value) const { return value >= least && value <= most; }
  bool operator==(const Band&) const = default;
};

struct Rope {
  std::string id;
  Construction construction = Construction::rope_7x19;
  double nominal_diameter_mm = 0;
  Band diameter_mm;                     ///< accepted when measured
  double metallic_area_factor = 0;      ///< C in A = C d^2, ISO 2408 / EN 12385-2 wording
  double minimum_breaking_force_kn = 0;
  std::string material;
  std::string source;                   ///< where the values come from; "demo data" where invented
  // Older files and records have none of these.
  std::optional<double> rope_grade_mpa{};         ///< Rr in Fmin = d^2 Rr K / 1000 (kN, mm, MPa), EN 12385-4
  std::optional<double> breaking_force_factor{};  ///< K in the same
  std::optional<double> elastic_modulus_mpa{};    ///< of the metal area C d^2, of the rope as a whole
  std::optional<double> mass_factor{};            ///< W in mass = W d^2, kg per 100 m with d in mm, EN 12385-4
  bool operator==(const Rope&) const = default;
};

struct Terminal {
  std::string id;
  Band shank_diameter_mm;               ///< before swaging
  double bore_diameter_mm = 0;
  Band bore_depth_mm;                   ///< mouth to the end of the bore
  double swage_length_mm = 0;           ///< length of shank to be swaged, measured from the mouth, before swaging
  std::string material;
  std::string source;
  // Older files and records have none of these.
  std::optional<EndKind> end{};
  std::optional<Band> pin_to_bore_end_mm{};  ///< pin's centre (eye, fork), bearing face (ball, stop) or end of
                                             ///< the thread (stud) to the end of the bore
  bool operator==(const Terminal&) const = default;
};

struct DiePair {
  std::string id;
  std::uint16_t tag = 0;                ///< what the press's die tag reads when this pair is mounted, 1 to 65535
  DieShape shape = DieShape::hexagon;
  double across_flats_mm = 0;           ///< groove diameter for a round pair
  double length_mm = 0;                 ///< length of shank one bite covers
  double rated_force_kn = 0;
  std::uint32_t life_strokes = 0;
  std::string source;
  bool operator==(const DiePair&) const = default;
};

struct Gauge {
  std::string id;
  GaugeKind kind = GaugeKind::caliper;
  double resolution_mm = 0;             ///< degrees for a protractor, kN for a load cell
  double expanded_uncertainty_mm = 0;   ///< U, coverage factor 2; degrees for a protractor, kN for a load cell; 0 for a limit gauge
  std::optional<double> size_mm;        ///< go and no-go gaps only
  std::string source;
  bool operator==(const Gauge&) const = default;
};

struct Press {
  std::string id;
  double ram_area_mm2 = 0;
  double pressure_max_bar = 0;
  double capacity_kn = 0;
  std::string profile;                  ///< name of the register profile, drivers/profiles/NAME.yaml
  bool require_shank_sensor = false;    ///< true where the press's "shank present" bit comes from a real sensor
  std::string source;
  bool operator==(const Press&) const = default;
};

/// Accepted force at one gap while the dies close, for the whole die length.
struct ForceAtGap {
  double gap_mm = 0;
  Band force_kn;
  bool operator==(const ForceAtGap&) const = default;
};

/// The pull that every finished terminal of a recipe must stand.
struct ProofTest {
  double load_kn = 0;                   ///< at least
  double hold_s = 0;                    ///< at least
  double slip_mm_max = 0;               ///< rope out of the terminal, measured after the pull
  bool operator==(const ProofTest&) const = default;
};

struct Recipe {
  std::string id;
  std::uint32_t revision = 0;           ///< 1 and up
  Status status = Status::draft;
  std::string family;                   ///< what an operator is qualified for, for example "straight-shank-hexagon"
  std::string rope, terminal, die_pair, press;                     ///< ids
  std::string go_gauge, no_go_gauge;                               ///< ids; their sizes are the upper and lower AF limit
  std::vector<std::string> measuring_gauges;                       ///< ids the job may use for the measured values

  int rope_diameter_readings = 3;
  double mark_tolerance_mm = 0;         ///< depth mark and boundary mark against the measured bore depth, either way
  double insertion_tolerance_mm = 0;    ///< depth mark to mouth when the rope is home, either way

  double bore_end_clearance_mm = 0;     ///< planned die edge to bore end for the bite nearest the bore end
  double position_tolerance_mm = 0;     ///< either way about each bite's planned position
  double least_edge_mm = 0;             ///< never closer to solid material than this (>= 0)
  double least_overlap_mm = 0;          ///< neighbouring bites share at least this length

  int passes = 2;
  double turn_deg = 90;
  double turn_tolerance_deg = 0;
  double least_flat_offset_deg = 0;     ///< hexagon: least angle away from a multiple of 60 degrees between passes

  double target_force_kn = 0;
  double force_limit_kn = 0;            ///< the node opens the dies above this
  double dwell_ms = 0;
  double closed_gap_mm = 0;
  double stroke_timeout_ms = 0;
  double permit_life_ms = 0;
  int repeat_bites_max = 0;             ///< bites that may be repeated because the hands were let go early
  std::vector<std::vector<ForceAtGap>> envelope;                   ///< one list per pass, gap descending
  Band peak_force_kn;

  Band across_flats_mm;                 ///< after the last pass; least = no-go size, most = go size
  int across_flats_stations = 3;        ///< each station is read over all three pairs of flats
  Band growth_fraction;                 ///< growth of the swaged length after all passes
  double growth_second_pass_least = 0;  ///< further growth expected of the second pass (fraction), judged by force when growth is read once
  double straightness_mm_max = 0;
  double slip_mm_max = 0;               ///< movement of the depth mark against the mouth
  int re_presses_max = 0;
  std::string source;                   ///< where the values come from; "demo data" where invented
  // Older files and records have none of these.
  std::optional<ProofTest> proof{};     ///< none: no proof load is asked for
  bool two_person_disposition = false;  ///< a held fitting needs two reviewers who agree
  bool operator==(const Recipe&) const = default;
};

/// A recipe with everything it names, frozen: this is what a fitting is made to and what the record keeps.
struct JoinedRecipe {
  Recipe recipe;
  Rope rope;
  Terminal terminal;
  DiePair die_pair;
  Press press;
  Gauge go_gauge, no_go_gauge;
  std::vector<Gauge> measuring_gauges;
  bool operator==(const JoinedRecipe&) const = default;
};

}  // namespace shankwright::recipe
