#include <cairo.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "figures/canvas.hpp"

namespace shankwright::figures {
namespace {

struct SurfaceEnd {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
struct ContextEnd {
  void operator()(cairo_t* context) const { cairo_destroy(context); }
};
using Surface = std::unique_ptr<cairo_surface_t, SurfaceEnd>;
using Context = std::unique_ptr<cairo_t, ContextEnd>;

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

cairo_status_t append(void* into, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(into)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

class PngCanvas : public Canvas {
 public:
  PngCanvas(double width, double height, double scale)
      : surface_(cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(width * scale)),
                                            static_cast<int>(std::lround(height * scale)))),
        context_(cairo_create(surface_.get())) {
    if (cairo_status(context_.get()) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error(cairo_status_to_string(cairo_status(context_.get())));
    cairo_scale(context_.get(), scale, scale);
    cairo_set_source_rgb(context_.get(), 1, 1, 1);
    cairo_paint(context_.get());
  }

  void rectangle(Point corner, double width, double height, Colour fill) override {
    use(fill);
    cairo_rectangle(context_.get(), corner.x, corner.y, width, height);
    cairo_fill(context_.get());
  }
  void polygon(const std::vector<Point>& points, Colour fill) override {
    path(points);
    use(fill);
    cairo_fill(context_.get());
  }
  void polyline(const std::vector<Point>& points, Colour stroke, double width, bool dashed) override {
    path(points);
    use(stroke);
    cairo_set_line_width(context_.get(), width);
    cairo_set_line_join(context_.get(), CAIRO_LINE_JOIN_ROUND);
    const double dashes[] = {6, 4};
    cairo_set_dash(context_.get(), dashes, dashed ? 2 : 0, 0);
    cairo_stroke(context_.get());
  }
  void text(Point at, std::string_view words, const TextStyle& style) override {
    const std::string whole(words);
    cairo_save(context_.get());
    use_font(context_.get(), style.size, style.bold);
    use(style.colour);
    cairo_translate(context_.get(), at.x, at.y);
    if (style.upward) cairo_rotate(context_.get(), -std::numbers::pi / 2);
    const double width = advance(context_.get(), whole);
    cairo_move_to(context_.get(),
                  style.anchor == Anchor::start    ? 0
                  : style.anchor == Anchor::middle ? -width / 2
                                                   : -width,
                  0);
    cairo_show_text(context_.get(), whole.c_str());
    cairo_restore(context_.get());
  }
  void clip(Point corner, double width, double height) override {
    cairo_save(context_.get());
    cairo_rectangle(context_.get(), corner.x, corner.y, width, height);
    cairo_clip(context_.get());
  }
  void unclip() override { cairo_restore(context_.get()); }
  std::string finish() override {
    std::string bytes;
    if (cairo_surface_write_to_png_stream(surface_.get(), append, &bytes) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error("the picture could not be encoded");
    return bytes;
  }

 private:
  void use(Colour colour) {
    cairo_set_source_rgba(context_.get(), colour.red, colour.green, colour.blue, colour.opacity);
  }
  void path(const std::vector<Point>& points) {
    cairo_new_path(context_.get());
    for (const Point& point : points) cairo_line_to(context_.get(), point.x, point.y);
  }

  Surface surface_;
  Context context_;
};

}  // namespace

std::unique_ptr<Canvas> png_canvas(double width, double height, double scale) {
  return std::make_unique<PngCanvas>(width, height, scale);
}

double text_width(std::string_view words, double size, bool bold) {
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1));
  const Context context(cairo_create(surface.get()));
  use_font(context.get(), size, bold);
  return advance(context.get(), std::string(words));
}

}  // namespace shankwright::figures
