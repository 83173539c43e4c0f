#include <cmath>
#include <stdexcept>

#include "figures/canvas_cairo.hpp"

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

cairo_status_t append(void* into, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(into)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

/// What the canvas below stands on; a base of its own, so that it is there first and goes last.
struct Picture {
  Picture(double width, double height, double scale)
      : surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(width * scale)),
                                           static_cast<int>(std::lround(height * scale)))),
        context(cairo_create(surface.get())) {
    if (cairo_status(context.get()) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error(cairo_status_to_string(cairo_status(context.get())));
    cairo_scale(context.get(), scale, scale);
    cairo_set_source_rgb(context.get(), 1, 1, 1);
    cairo_paint(context.get());
  }
  Surface surface;
  Context context;
};

class PngCanvas : private Picture, public CairoCanvas {
 public:
  PngCanvas(double width, double height, double scale)
      : Picture(width, height, scale), CairoCanvas(Picture::context.get()) {}
  std::string finish() override {
    std::string bytes;
    if (cairo_surface_write_to_png_stream(surface.get(), append, &bytes) != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error("the picture could not be encoded");
    return bytes;
  }
};

}  // namespace

std::unique_ptr<Canvas> png_canvas(double width, double height, double scale) {
  return std::make_unique<PngCanvas>(width, height, scale);
}

}  // namespace shankwright::figures
