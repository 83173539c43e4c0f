#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>
#include <vector>

#include "quantity/result.hpp"

/// Force calibration of a press against a force cell: readings in, errors and class out. Pure.
///
/// Method and formulas: ISO 7500-1:2015 "Metallic materials - Calibration and verification of static uniaxial
/// testing machines - Part 1", clause 6, read in secondary sources. The press is taken to a force Fi by its
/// own indication, and the cell tells the true force F ("constant indicated force"). A press is no testing
/// machine: the standard is used as a method, and who needs an accredited verification orders one.
namespace shankwright::calibration {

/// Classes of ISO 7500-1, best first; stored by name (name_of), never renamed.
enum class ForceClass : unsigned char { half, one, two, three, none };
[[nodiscard]] std::string_view name_of(ForceClass of);  ///< "0.5", "1", "2", "3", "none"
[[nodiscard]] std::optional<ForceClass> class_named(std::string_view name);

/// Greatest permitted values of one class, percent. q and f0 either way, b and a one-sided.
struct ClassLimits {
  ForceClass of = ForceClass::none;
  double q_percent = 0, b_percent = 0, f0_percent = 0, a_percent = 0;
};
/// ISO 7500-1:2015, table 2 (edition 2018 alike), from secondary sources that agree with memory.
/// Reversibility (v) is judged only where falling forces are used: a press that squeezes does not use them.
inline constexpr std::array<ClassLimits, 4> class_limits{{{ForceClass::half, 0.5, 0.5, 0.05, 0.25},
                                                          {ForceClass::one, 1.0, 1.0, 0.1, 0.5},
                                                          {ForceClass::two, 2.0, 2.0, 0.2, 1.0},
                                                          {ForceClass::three, 3.0, 3.0, 0.3, 1.5}}};

/// What the procedure asks for (IS 1828-1:2005, identical to ISO 7500-1:1999, 6.4).
inline constexpr std::size_t runs_least = 3, steps_least = 5;
inline constexpr double first_step_share = 0.20, last_step_share = 1.0;
/// How far a step may lie from its share of the range, and from the same step of another run: common
/// practice, no source.
inline constexpr double step_share_tolerance = 0.02;
/// Between two angles of the cell that count as turned: common practice, no source (120 deg is usual, value
/// from memory).
inline constexpr double turned_least_deg = 30;

/// One force: what the press indicates and what the cell says, kN.
struct ForceReading {
  double indicated_kn = 0, cell_kn = 0;
};

/// One series of rising forces.
struct ForceRun {
  double cell_angle_deg = 0;                ///< how the cell stood about the press's axis
  std::optional<double> ram_position_mm{};  ///< of the ram, where it was noted
  std::vector<ForceReading> readings;       ///< rising
  std::optional<double> zero_kn{};          ///< indicated after the force is taken off
};

struct ForceSeries {
  double range_kn = 0;       ///< FN, the greatest force of the range
  double resolution_kn = 0;  ///< r, of the press's indication
  std::vector<ForceRun> runs;
};

/// q = 100 (Fi - F) / F, percent (6.5.1, formula 1).
[[nodiscard]] double indication_error_percent(const ForceReading& reading);
/// f0 = 100 Fi0 / FN, percent (6.4.6).
[[nodiscard]] double zero_error_percent(double zero_kn, double range_kn);
/// a = 100 r / Fi, percent (6.3).
[[nodiscard]] double resolution_percent(double resolution_kn, double indicated_kn);

/// Why a series says nothing yet.
enum class Shortfall : unsigned char {
  no_range,
  no_resolution,
  too_few_runs,
  too_few_steps,
  first_step_high,     ///< above 20 % of the range
  last_step_low,       ///< below 100 % of the range
  forces_not_rising,   ///< within a run
  runs_not_alike,      ///< other steps, or another number of them
  zero_missing,        ///< after some run
  cell_not_turned,     ///< no run with the cell turned
  cell_reads_nothing,  ///< a true force of zero or less
};
[[nodiscard]] std::string_view name_of(Shortfall shortfall);
[[nodiscard]] std::string_view words_of(Shortfall shortfall);

struct ForceStep {
  double indicated_kn = 0;           ///< mean of the runs
  std::vector<double> q_percent;     ///< by run
  double q_mean_percent = 0;         ///< relative error of indication
  double b_percent = 0;              ///< repeatability: greatest less least q (6.5.2)
  double a_percent = 0;              ///< relative resolution
  ForceClass of = ForceClass::none;  ///< by q, b and a
};

struct ForceResult {
  std::vector<ForceStep> steps;  ///< forces rising; as far as every run has the step
  double f0_percent = 0;         ///< of the run where it is greatest, with its sign
  ForceClass of =
      ForceClass::none;  ///< of the whole range: the worst step, and f0; none while something is short
  std::vector<Shortfall> shortfalls;
  /// The runs were pressed with the ram at three different positions, 2 mm apart at least (common practice,
  /// no source), as 6.4.2 asks of a press that measures its force by the pressure at the actuator. Not noted
  /// counts as no.
  bool ram_moved_between_runs = false;
};

/// Never throws for what the readings say. What is short is told, all of it.
[[nodiscard]] ForceResult judge(const ForceSeries& series);

/// Equal shares of the range, 20 % to 100 %: where a calibration of `count` steps goes. `count` is 5 or more.
[[nodiscard]] std::vector<double> step_targets_kn(double range_kn, std::size_t count);

/// Whether a class is at least as good as the one that is needed. none is never good enough, and a need of
/// none is met by nothing.
[[nodiscard]] bool good_enough(ForceClass found, ForceClass needed);

}  // namespace shankwright::calibration
