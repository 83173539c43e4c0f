#pragma once
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "planning/cut_length.hpp"
#include "planning/stretch.hpp"

/// The cut length line by line: what, value with its sign, formula, why, source, uncertainty, running total.
namespace shankwright::planning {

/// Stored in JSON by name: never rename, only add.
enum class LineKind : std::uint8_t {
  pin_to_pin,
  end_deduction,
  growth,
  elastic_stretch,
  constructional_stretch,
  insertion,
  rope_grown_over,
  cutting
};

enum class TermUnit : std::uint8_t { length_mm, force_kn, stress_mpa, share };

/// One figure a line rests on.
struct Term {
  std::string name;
  double value = 0;
  TermUnit unit = TermUnit::length_mm;
};

struct Line {
  LineKind kind = LineKind::pin_to_pin;
  int end = -1;         ///< 0 or 1 where the line is about one end
  double value_mm = 0;  ///< with its sign
  double uncertainty_mm =
      0;                  ///< what this line's figures may move the cut length, either way, coverage factor 2
  double running_mm = 0;  ///< sum so far
  std::vector<Term> terms;
  std::string source;
  std::string common_cause;  ///< lines of one cause err together, so their uncertainties add; empty: alone
  bool given = false;        ///< by the job, for an end that the press does not make
};

/// What a line is, how it is computed, and why it is there.
struct LineWords {
  std::string_view name, what, formula, why;
};
[[nodiscard]] const LineWords& words_of(LineKind kind);
/// The kind's, or that the job gave the value.
[[nodiscard]] std::string_view formula_of(const Line& line);

struct Account {
  std::vector<Line> lines;
  double cut_length_mm = 0;   ///< the formula's; the lines' sum is the same
  double uncertainty_mm = 0;  ///< expanded, coverage factor 2
  double free_rope_under_tension_mm = 0;
  double free_rope_at_rest_mm = 0;
  std::array<double, 2> rope_inside_mm{};
  std::array<double, 2> growth_mm{};
  ElasticModulus modulus;
  double elastic_strain = 0;
  double constructional_stretch = 0;
};

/// Joined recipes by id. Every swaged end of the assembly must name one of them, and have a pin distance
/// (the job's or the terminal's): compatibility.hpp refuses it otherwise.
using Recipes = std::map<std::string, recipe::JoinedRecipe>;

[[nodiscard]] Account account_of(const Assembly& assembly, const recipe::Rope& rope, const Recipes& recipes,
                                 double cutting_tolerance_mm);

/// Lengths of a specimen for a destructive pull: one recipe on both ends, a free length at rest.
[[nodiscard]] double sample_cut_length_mm(const recipe::JoinedRecipe& joined, double free_length_mm,
                                          const GrowthShare& share);

}  // namespace shankwright::planning
