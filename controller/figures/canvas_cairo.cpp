#include "figures/canvas_cairo.hpp"

#include <cmath>
#include <numbers>

namespace shankwright::figures {
namespace {

void use_font(cairo_t* context, double size, bool bold) {
  cairo_select_font_face(context, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                         bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(context, size);
}

double advance(cairo_t* context, const std::string& words) {
  cairo_text_extents_t extents;
  cairo_text_extents(context, words.c_str(), &extents);
  return extents.x_advance;
}

}  // namespace

void CairoCanvas::rectangle(Point corner, double width, double height, Colour fill) {
  use(fill);
  cairo_rectangle(context_, corner.x, corner.y, width, height);
  cairo_fill(context_);
}

void CairoCanvas::polygon(const std::vector<Point>& points, Colour fill) {
  path(points);
  use(fill);
  cairo_fill(context_);
}

void CairoCanvas::polyline(const std::vector<Point>& points, Colour stroke, double width, bool dashed) {
  path(points);
  use(stroke);
  cairo_set_line_width(context_, width);
  cairo_set_line_join(context_, CAIRO_LINE_JOIN_ROUND);
  const double dashes[] = {6, 4};
  cairo_set_dash(context_, dashes, dashed ? 2 : 0, 0);
  cairo_stroke(context_);
}

void CairoCanvas::text(Point at, std::string_view words, const TextStyle& style) {
  const std::string whole(words);
  cairo_save(context_);
  use_font(context_, style.size, style.bold);
  use(style.colour);
  cairo_translate(context_, at.x, at.y);
  if (style.upward) cairo_rotate(context_, -std::numbers::pi / 2);
  const double width = advance(context_, whole);
  cairo_move_to(context_,
                style.anchor == Anchor::start    ? 0
                : style.anchor == Anchor::middle ? -width / 2
                                                 : -width,
                0);
  cairo_show_text(context_, whole.c_str());
  cairo_restore(context_);
}

void CairoCanvas::clip(Point corner, double width, double height) {
  cairo_save(context_);
  cairo_rectangle(context_, corner.x, corner.y, width, height);
  cairo_clip(context_);
}

void CairoCanvas::unclip() {
  cairo_restore(context_);
}

void CairoCanvas::use(Colour colour) {
  cairo_set_source_rgba(context_, colour.red, colour.green, colour.blue, colour.opacity);
}

void CairoCanvas::path(const std::vector<Point>& points) {
  cairo_new_path(context_);
  for (const Point& point : points) cairo_line_to(context_, point.x, point.y);
}

double text_width(std::string_view words, double size, bool bold) {
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t* const context = cairo_create(surface);
  use_font(context, size, bold);
  const double width = advance(context, std::string(words));
  cairo_destroy(context);
  cairo_surface_destroy(surface);
  return width;
}

}  // namespace shankwright::figures
