#pragma once
#include <memory>
#include <string>
#include <string_view>
#include <vector>

/// What a chart is drawn on: an SVG text or a PNG picture. Units are points of the figure, y downward.
namespace shankwright::figures {

struct Colour {
  double red = 0, green = 0, blue = 0, opacity = 1;  ///< 0 to 1
};
struct Point {
  double x = 0, y = 0;
};
enum class Anchor : unsigned char { start, middle, end };

struct TextStyle {
  double size = 13;
  Colour colour;
  Anchor anchor = Anchor::start;
  bool bold = false;
  bool upward = false;  ///< turned a quarter turn, reading upward
};

class Canvas {
 public:
  Canvas() = default;
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;
  virtual ~Canvas() = default;

  virtual void rectangle(Point corner, double width, double height, Colour fill) = 0;
  virtual void polygon(const std::vector<Point>& points, Colour fill) = 0;
  virtual void polyline(const std::vector<Point>& points, Colour stroke, double width, bool dashed) = 0;
  /// `at` is the anchor on the text's base line. UTF-8.
  virtual void text(Point at, std::string_view words, const TextStyle& style) = 0;
  /// Everything until unclip() is drawn inside this rectangle only.
  virtual void clip(Point corner, double width, double height) = 0;
  virtual void unclip() = 0;
  /// The finished file's bytes.
  [[nodiscard]] virtual std::string finish() = 0;
};

/// `title` and `description` are what a screen reader reads.
[[nodiscard]] std::unique_ptr<Canvas> svg_canvas(double width, double height, std::string_view title,
                                                 std::string_view description);
/// `scale` pixels per point.
[[nodiscard]] std::unique_ptr<Canvas> png_canvas(double width, double height, double scale);

/// Width of a text in DejaVu Sans (or what stands in for it), in points.
[[nodiscard]] double text_width(std::string_view words, double size, bool bold = false);

}  // namespace shankwright::figures
