#pragma once
#include <string>
#include <vector>

#include "figures/canvas.hpp"

/// Charts for people who read them once: one or more panels side by side, axes with units, a legend of what
/// is drawn, and the caution a figure must not be parted from.
namespace shankwright::figures {

/// Calm colours. Lines that are to be told apart take blue and red, or blue and amber: eyes that mix red and
/// green keep those apart.
namespace colour {
inline constexpr Colour ink{0.13, 0.16, 0.20}, faint{0.45, 0.49, 0.54}, grid{0.88, 0.90, 0.92};
inline constexpr Colour blue{0.16, 0.38, 0.60}, amber{0.80, 0.50, 0.08}, red{0.68, 0.20, 0.18};
inline constexpr Colour green{0.18, 0.45, 0.34};
[[nodiscard]] constexpr Colour pale(Colour from, double opacity) {
  from.opacity = opacity;
  return from;
}
}  // namespace colour

struct Axis {
  std::string title;  ///< with the unit: "press force, kN"
  double least = 0, most = 1;
  bool falling = false;  ///< greatest value at the left
};

struct Line {
  std::string label;  ///< empty: not in the legend
  std::vector<Point> points;
  Colour colour;
  double width = 2;
  bool dashed = false, dots = false;
};
/// Between two curves over the same x.
struct Ribbon {
  std::string label;
  std::vector<double> x, low, high;
  Colour colour;
};
/// Upright bars from 0.
struct Columns {
  std::string label;
  double first_edge = 0, width = 1;
  std::vector<double> heights;
  Colour colour;
};
/// An upright line with words along it, for a limit or a setting.
struct Mark {
  double x = 0;
  std::string label;
  Colour colour;
  bool dashed = false;
  bool left = false;  ///< words left of the line
};
/// A stretch of the x axis.
struct Zone {
  std::string label;
  double from = 0, to = 0;
  Colour colour;
};
/// A permitted interval at one x.
struct Gate {
  double x = 0, low = 0, high = 0;
};
/// A lying bar with its value written at its end.
struct Bar {
  std::string label;
  double value = 0;
  std::string written;
};

struct Panel {
  std::string title;
  Axis x, y;
  std::vector<Zone> zones;
  std::vector<Ribbon> ribbons;
  std::vector<Columns> columns;
  std::vector<Line> lines;
  std::vector<Mark> marks;
  std::string gates_label;
  std::vector<Gate> gates;
  Colour gates_colour = colour::red;
  /// When given, the panel shows these from the top down over the x axis, and has no y axis.
  std::vector<Bar> bars;
  Colour bars_colour = colour::blue;
};

struct Figure {
  std::string title, subtitle;
  std::vector<std::string> notes;  ///< small lines below
  std::string description;         ///< for a screen reader
  std::vector<Panel> panels;
  double width = 960, height = 600;
};

/// One panel alone, its titles and axes included, within a rectangle of the canvas.
void draw(Canvas& canvas, const Panel& panel, Point corner, double width, double height);

[[nodiscard]] std::string to_svg(const Figure& figure);
[[nodiscard]] std::string to_png(const Figure& figure);

/// Round values within [least, most], about `wanted` of them.
struct Ticks {
  std::vector<double> at;
  int decimals = 0;
};
[[nodiscard]] Ticks ticks(double least, double most, int wanted);

}  // namespace shankwright::figures
