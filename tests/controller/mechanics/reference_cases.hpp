#pragma once
#include <optional>
#include <string>
#include <vector>

#include "mechanics/squeeze.hpp"

/// The finite-element points of tests/reference/fem_points*.csv; the files' heads name the source. No part of
/// the project's model is in them.
namespace reference {

struct Point {
  int pass = 1;
  bool open = false;
  double gap_mm = 0, force_n_per_mm = 0, growth = 0;
  double base_width_mm = 0, side_width_mm = 0;  ///< 0 where not told
};

struct Case {
  std::string name;
  shankwright::mechanics::SqueezeInput input;
  std::vector<Point> points;
};

[[nodiscard]] std::vector<Case> cases();

/// The model's worst errors over one case.
struct Error {
  double force = 0;        ///< relative, signed, worst of gaps up to 0.5 mm
  double force_early = 0;  ///< at 1 mm
  double growth = 0;       ///< fraction, signed, worst of gaps up to 0.5 mm and after release
  double width_mm = 0;     ///< after release, signed, worst
};
[[nodiscard]] Error error_of(const Case& one);

}  // namespace reference
