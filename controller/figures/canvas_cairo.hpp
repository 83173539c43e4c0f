#pragma once
#include <cairo.h>

#include "figures/canvas.hpp"

namespace shankwright::figures {

/// A canvas on somebody else's cairo context, in whose units it draws: a page, a picture. The context must
/// outlive it; finish() gives nothing, the context's owner has the file.
class CairoCanvas : public Canvas {
 public:
  explicit CairoCanvas(cairo_t* context) : context_(context) {}

  void rectangle(Point corner, double width, double height, Colour fill) override;
  void polygon(const std::vector<Point>& points, Colour fill) override;
  void polyline(const std::vector<Point>& points, Colour stroke, double width, bool dashed) override;
  void text(Point at, std::string_view words, const TextStyle& style) override;
  void clip(Point corner, double width, double height) override;
  void unclip() override;
  std::string finish() override { return {}; }

 private:
  void use(Colour colour);
  void path(const std::vector<Point>& points);

  cairo_t* context_;
};

}  // namespace shankwright::figures
